// @ts-check
// The page's side of the service worker: starts it, says when a new version waits, and takes it when told.

import { ownScript } from './own.js';

/** Asks a service worker one thing. @param {ServiceWorker} worker @param {object} message
 * @returns {Promise<{ok: boolean}>} */
function ask(worker, message) {
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = (event) => resolve(event.data);
    worker.postMessage(message, [port2]);
  });
}

/** Resolves when `worker` has come as far as `state`, or has been thrown away.
 * @param {ServiceWorker} worker @param {ServiceWorkerState} state @returns {Promise<void>} */
function reached(worker, state) {
  return new Promise((resolve) => {
    const look = () => {
      if (worker.state !== state && worker.state !== 'redundant') return;
      worker.removeEventListener('statechange', look);
      resolve();
    };
    worker.addEventListener('statechange', look);
    look();
  });
}

/** Calls `found` with each new version that has been fetched and waits.
 * @param {ServiceWorkerRegistration} registration @param {(worker: ServiceWorker) => void} found */
function watch(registration, found) {
  const offer = () => {
    // The very first version has nothing to take over from.
    if (registration.waiting && registration.active) found(registration.waiting);
  };
  registration.addEventListener('updatefound', async () => {
    if (!registration.installing) return;
    await reached(registration.installing, 'installed');
    offer();
  });
  offer();
}

/**
 * Starts keeping the page on the device.
 *
 * @param {{
 *   kept?: () => void,
 *   offer: (take: () => Promise<boolean>) => void,
 * }} on `kept`: from now on the page opens with no network. `offer`: a new version waits; `take` loads it, or
 *   answers false when another window with this page is open, which has to be closed first.
 * @returns {Promise<ServiceWorkerRegistration | null>} null where the browser, or the address, doesn't allow it
 */
export async function keepOffline(on) {
  if (!('serviceWorker' in navigator)) return null;
  let registration;
  try {
    registration = await navigator.serviceWorker.register(ownScript('./sw.js'), { updateViaCache: 'none' });
  } catch {
    return null;
  }
  watch(registration, (waiting) => {
    on.offer(async () => {
      const changed = new Promise((resolve) => {
        navigator.serviceWorker.addEventListener('controllerchange', resolve, { once: true });
      });
      if (!(await ask(waiting, { kind: 'take-over' })).ok) return false;
      await changed;
      location.reload();
      return true;
    });
  });
  const { active } = await navigator.serviceWorker.ready;
  if (active && !navigator.serviceWorker.controller) {
    const version = document.querySelector('meta[name="version"]')?.getAttribute('content');
    await reached(active, 'activated');
    await ask(active, { kind: 'claim', version });
  }
  on.kept?.();
  return registration;
}
