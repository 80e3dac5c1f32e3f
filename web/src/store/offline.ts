/** The page without a net: kept by the browser after the first visit, and renewed when somebody says so. */
import { registerSW } from "virtual:pwa-register";
import { dispatch } from "./store.ts";

let take: (reload?: boolean) => Promise<void> = () => Promise.resolve();

/** From now on the page is kept for use without a net. */
export function keepOffline(): void {
  take = registerSW({ onNeedRefresh: () => dispatch({ type: "notice", notice: "update", value: true }) });
}

export function takeUpdate(): void {
  dispatch({ type: "notice", notice: "update", value: false });
  void take(true);
}
