// Counts tests from the summary that each test program prints at its end.

/** @typedef {{ passed: number, failed: number, skipped: number }} Count */

/** @returns {Count} */
export const none = () => ({ passed: 0, failed: 0, skipped: 0 });

/** @param {Count} a @param {Count} b @returns {Count} */
export function add(a, b) {
  return { passed: a.passed + b.passed, failed: a.failed + b.failed, skipped: a.skipped + b.skipped };
}

// Programs colour their output on a terminal.
const plain = (/** @type {string} */ text) => text.replaceAll(/\x1b\[[0-9;]*m/g, '');

/**
 * Counts the output of `cargo test` and of wasm-bindgen's runner, which have one line per test program:
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
 * Counts the output of `node --test`: `# pass 12` and so on, each on its own line (on a terminal with an
 * `i` in a circle instead of the hash).
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
 * Counts the `stats` of Playwright's JSON report. A test that passed only at a retry counts as failed.
 *
 * @param {{ stats: { expected: number, unexpected: number, flaky: number, skipped: number } }} report
 * @returns {Count}
 */
export function countPage({ stats }) {
  return { passed: stats.expected, failed: stats.unexpected + stats.flaky, skipped: stats.skipped };
}
