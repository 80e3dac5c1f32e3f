/** Runs `work` once, after the next frame has been painted. A hidden window runs it after a timeout instead. */
export function afterPaint(work: () => void): void {
  let due = true;
  const once = (): void => {
    if (due) work();
    due = false;
  };
  requestAnimationFrame(() => setTimeout(once));
  setTimeout(once, AT_LATEST_MS);
}

/** A hidden window gets no frames: the work then runs after this time. */
const AT_LATEST_MS = 200;
