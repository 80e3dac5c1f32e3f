/**
 * A tap that counts once. Answers come so fast that the second half of a double tap would fall on the
 * next step, and be a finding that nobody made.
 */
export const single =
  (run: () => void) =>
  (event: MouseEvent): void => {
    if (event.detail <= 1) run();
  };
