// @ts-check
// What the scripts fetch for themselves: a tool that two steps want at once is compiled once.
import { execFile } from 'node:child_process';
import { chmod, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { test } from 'node:test';
import assert from 'node:assert/strict';

// It stands in for cargo: says that it was called, takes its time, and leaves the tool behind.
const CARGO = `#!/bin/sh
echo called >>"$CALLS"
sleep 0.3
printf '#!/bin/sh\\n' >"$MADE/geckodriver"
chmod +x "$MADE/geckodriver"
`;

test('two that need a tool at once compile it once', async () => {
    const dir = await mkdtemp(join(tmpdir(), 'tools-'));
    try {
        await mkdir(join(dir, 'tools', 'bin'), { recursive: true });
        await writeFile(join(dir, 'cargo'), CARGO);
        await chmod(join(dir, 'cargo'), 0o755);
        const script = `source scripts/lib/setup.sh
            TOOLS=${dir}/tools PATH="${dir}:${dir}/tools/bin:/usr/bin:/bin"
            need_geckodriver & need_geckodriver; wait $!
            command -v geckodriver`;
        const env = { ...process.env, CALLS: join(dir, 'calls'), MADE: join(dir, 'tools', 'bin') };
        const { stdout } = await promisify(execFile)('bash', ['-c', script], { env });
        assert.equal(stdout.trim(), join(dir, 'tools', 'bin', 'geckodriver'));
        assert.equal(await readFile(join(dir, 'calls'), 'utf8'), 'called\n');
    } finally {
        await rm(dir, { recursive: true, force: true });
    }
});
