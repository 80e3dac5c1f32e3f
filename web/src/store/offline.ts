/** Offline use: the browser keeps the page after the first visit, and updates it when the user agrees. */
import { registerSW } from "virtual:pwa-register";
import { dispatch } from "./store.ts";

let take: (reload?: boolean) => Promise<void> = () => Promise.resolve();

/** Registers the service worker that keeps the page for offline use. */
export function keepOffline(): void {
  take = registerSW({ onNeedRefresh: () => dispatch({ type: "notice", notice: "update", value: true }) });
}

export function takeUpdate(): void {
  dispatch({ type: "notice", notice: "update", value: false });
  void take(true);
}
