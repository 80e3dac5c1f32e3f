// How many tests ran, read from what the test programs themselves say at their end.

/** @typedef {{ passed: number, failed: number, skipped: number }} Count */

/** @returns {Count} */
export const none = () => ({ passed: 0, failed: 0, skipped: 0 });

/** @param {Count} a @param {Count} b @returns {Count} */
export function add(a, b) {
  return { passed: a.passed + b.passed, failed: a.failed + b.failed, skipped: a.skipped + b.skipped };
}

// Programs colour their output when they think that a person reads it.
const plain = (/** @type {string} */ text) => text.replaceAll(/\x1b\[[0-9;]*m/g, '');

/**
 * `cargo test`, and wasm-bindgen's runner, which closes in the same way: one line per test program,
 * `test result: ok. 12 passed; 0 failed; 1 ignored; ...`.
 *
 * @param {string} output
 * @returns {Count}
 */
export function countRust(output) {
  const closing = /^test result: \w+\. (\d+) passed; (\d+) failed; (\d+) ignored;/gm;
  return [...plain(output).matchAll(closing)]
    .map(([, passed, failed, skipped]) => ({
      passed: Number(passed),
      failed: Number(failed),
      skipped: Number(skipped),
    }))
    .reduce(add, none());
}

/**
 * `node --test`: `# pass 12` and so on, each on a line of its own (with an `i` in a circle for the
 * hash on a terminal).
 *
 * @param {string} output
 * @returns {Count}
 */
export function countNode(output) {
  const total = (/** @type {string} */ word) =>
    [...plain(output).matchAll(new RegExp(`^(?:#|ℹ) ${word} (\\d+)$`, 'gm'))]
      .map(([, number]) => Number(number))
      .reduce((a, b) => a + b, 0);
  return {
    passed: total('pass'),
    failed: total('fail') + total('cancelled'),
    skipped: total('skipped') + total('todo'),
  };
}

/**
 * The `stats` of Playwright's JSON report. A test that passed only when it was tried again has
 * failed once, and counts as failed.
 *
 * @param {{ stats: { expected: number, unexpected: number, flaky: number, skipped: number } }} report
 * @returns {Count}
 */
export function countPage({ stats }) {
  return { passed: stats.expected, failed: stats.unexpected + stats.flaky, skipped: stats.skipped };
}
