// @ts-check
/** A kiosk keeps no app: what this browser kept before it was one goes. */

export async function dropApp() {
  if (!('serviceWorker' in navigator)) return;
  for (const worker of await navigator.serviceWorker.getRegistrations()) await worker.unregister();
  for (const name of await caches.keys()) if (/^(shell|references)-/.test(name)) await caches.delete(name);
}
