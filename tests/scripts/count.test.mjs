// The texts are output of cargo 1.95.0, wasm-bindgen-cli 0.2.130 and Node 20.20.2, with names shortened.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { countNode, countPage, countRust } from './count.mjs';

const CARGO = `
running 2 tests
test network::tests::a_table_that_does_not_add_up ... ok
test network::tests::a_cycle ... FAILED

failures:

---- network::tests::a_cycle stdout ----
it says: test result: ok. 99 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out

test result: FAILED. 1 passed; 1 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.00s

   Doc-tests halfsplit

running 3 tests
test src/lib.rs - (line 5) ... ignored

test result: ok. 2 passed; 0 failed; 1 ignored; 0 measured; 0 filtered out; finished in 0.31s
`;

test('every test program of a cargo run is counted, and only its closing line', () => {
  assert.deepEqual(countRust(CARGO), { passed: 3, failed: 1, skipped: 1 });
});

test('colours do not hide a result', () => {
  const coloured =
    'test result: \x1b[32mok\x1b[0m. 4 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out\n';
  assert.equal(countRust(coloured).passed, 4);
});

test('a run that compiled nothing has no tests', () => {
  assert.deepEqual(countRust('error: could not compile `halfsplit`\n'), { passed: 0, failed: 0, skipped: 0 });
});

test('both forms of node --test are read', () => {
  const piped = '# tests 6\n# suites 0\n# pass 3\n# fail 1\n# cancelled 1\n# skipped 1\n# todo 0\n';
  assert.deepEqual(countNode(piped), { passed: 3, failed: 2, skipped: 1 });
  assert.deepEqual(countNode(piped.replaceAll('# ', 'ℹ ')), { passed: 3, failed: 2, skipped: 1 });
});

test('a page test that passed at the second try has failed', () => {
  const stats = { expected: 5, unexpected: 1, flaky: 2, skipped: 1 };
  assert.deepEqual(countPage({ stats }), { passed: 5, failed: 3, skipped: 1 });
});
