/**
 * Returns a click handler that ignores the second click of a double click. Answers come so fast that
 * it would otherwise record a result of the next step.
 */
export const single =
  (run: () => void) =>
  (event: MouseEvent): void => {
    if (event.detail <= 1) run();
  };
