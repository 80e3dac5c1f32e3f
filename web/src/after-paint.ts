/** Runs once what has just changed is on the screen; a window that is not looked at does not wait for that. */
export function afterPaint(work: () => void): void {
  let due = true;
  const once = (): void => {
    if (due) work();
    due = false;
  };
  requestAnimationFrame(() => setTimeout(once));
  setTimeout(once, AT_LATEST_MS);
}

/** No frame comes to a window that is hidden. */
const AT_LATEST_MS = 200;
