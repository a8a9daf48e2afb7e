// Prints what llvm-cov exports (its summary, as JSON, on standard input): lines reached, file by file and in all.
//   llvm-cov export -summary-only … | node scripts/lib/covered.mjs NAME
import { text } from 'node:stream/consumers';

const [{ files }] = JSON.parse(await text(process.stdin)).data;
const line = (name, { covered, count }) =>
  `${name.padEnd(12)} ${String(covered).padStart(6)} of ${String(count).padStart(6)} lines  ${((100 * covered) / count).toFixed(1).padStart(5)} %`;
const sum = { covered: 0, count: 0 };
for (const { filename, summary: { lines } } of files) {
  sum.covered += lines.covered;
  sum.count += lines.count;
  console.log(line('', lines), filename.slice(filename.indexOf('crate/src/')));
}
console.log(line(process.argv[2], sum));
