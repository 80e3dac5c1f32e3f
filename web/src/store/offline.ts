/** The page without a net: kept by the browser after the first visit, and renewed when somebody says so. */
import { signal } from "@preact/signals";
import { registerSW } from "virtual:pwa-register";

/** A newer version is there and waits. */
export const updateReady = signal(false);

let take: (reload?: boolean) => Promise<void> = () => Promise.resolve();

/** From now on the page is kept for use without a net. */
export function keepOffline(): void {
  take = registerSW({ onNeedRefresh: () => (updateReady.value = true) });
}

export function takeUpdate(): void {
  updateReady.value = false;
  void take(true);
}
