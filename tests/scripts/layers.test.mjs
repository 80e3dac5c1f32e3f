// Tests the check of the layers on small invented trees, then checks the repository against its table.

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { TESTS } from '../../web/scripts/toolchain.mjs';
import { pageImports } from './imports-page.mjs';
import { rustImports } from './imports-rust.mjs';
import { faultsOfTable, forbiddenCircles, forbiddenImports, readTable } from './layers.mjs';
import { crates, pageSources, rustSources } from './tree.mjs';

/** @typedef {import('./layers.mjs').Import} Import */

const TABLE = `
# Made up.
[Rust]
root     core/lib.rs

advise   core/advise/
explain  core/explain.rs

job      core/job/

[Page]
screen   page/screen.tsx

store    page/store.ts
`;

/** The table above, with exceptions. @param {...string} exceptions */
const table = (...exceptions) => readTable([TABLE, '[Exceptions]', ...exceptions].join('\n'), 'layers.txt');

/** The imports of a crate. @param {Record<string, string>} files */
const rust = (files) =>
  rustImports(new Map(Object.entries(files)), [{ name: 'made_up', root: 'core/lib.rs' }]);

/** The imports of a page. @param {Record<string, string>} files */
const page = (files) => pageImports(new Map(Object.entries(files)));

/** @param {Import[]} imports */
const arrows = (imports) => imports.map(({ from, line, to }) => `${from}:${line} -> ${to}`);

/**
 * The imports of the files given, in a crate with every layer of the table.
 *
 * @param {Record<string, string>} files
 */
const crate = (files) =>
  rust({
    'core/lib.rs': 'mod advise;\nmod explain;\nmod job;\n',
    'core/advise/mod.rs': '',
    'core/explain.rs': '',
    'core/job/mod.rs': 'mod act;\npub(crate) use act::Acts;\npub struct Job;\n',
    'core/job/act.rs': 'pub struct Acts;\n',
    ...files,
  }).filter(({ from }) => from in files);

test('an import from below is allowed, one from above fails and says what to do', () => {
  const down = crate({ 'core/advise/mod.rs': 'use crate::job::Job;\n' });
  assert.deepEqual(arrows(down), ['core/advise/mod.rs:1 -> core/job/mod.rs']);
  assert.deepEqual(forbiddenImports(table(), down), []);

  const up = crate({
    'core/job/act.rs': '\nuse crate::advise::Step;\n',
    'core/advise/mod.rs': 'pub struct Step;\n',
  });
  assert.deepEqual(forbiddenImports(table(), up), [
    `core/job/act.rs:2: \`use crate::advise::Step\` imports core/advise/mod.rs.
    Rule: "advise" stands above "job" (layers.txt:6). A layer imports only from the blocks below it.
    To do: move what both need into the lower layer, or hand it in as an argument.`,
  ]);
});

test('layers of one block do not import each other', () => {
  const [said, ...more] = forbiddenImports(table(), crate({ 'core/explain.rs': 'use crate::advise;\n' }));
  assert.match(said, /^core\/explain\.rs:1: .*\n.*"explain" and "advise" stand in one block/);
  assert.deepEqual(more, []);
});

test('a path in the code, in a macro and between angle brackets is an import', () => {
  const code = [
    'fn f() {',
    '  crate::job::go();',
    '  println!("{}", super::job::act::count());',
    '  g::<made_up::job::Job>();',
    '}',
  ];
  assert.deepEqual(arrows(crate({ 'core/explain.rs': code.join('\n') })), [
    'core/explain.rs:2 -> core/job/mod.rs',
    'core/explain.rs:3 -> core/job/act.rs',
    'core/explain.rs:4 -> core/job/mod.rs',
  ]);
});

test('comments, strings and unit tests are no imports in Rust', () => {
  const quiet = [
    '//! [Step](crate::advise::Step)',
    '/* use crate::advise::Step; /* crate::advise::f() */ */',
    'const TEXT: &str = "use crate::advise::Step;";',
    'const RAW: &str = r#"crate::advise::"f"()"#;',
    '#[cfg(test)]\nfn helper() { crate::advise::f() }',
    '#[cfg(test)]\n#[allow(unused)]\nmod tests {\n  use crate::advise::Step;\n}',
  ];
  assert.deepEqual(crate({ 'core/job/act.rs': quiet.join('\n') }), []);
  // Code after a unit test is read again.
  const loud = `${quiet.join('\n')}\nuse crate::advise::Step;\n`;
  assert.equal(crate({ 'core/job/act.rs': loud }).length, 1);
});

test('a re-exported name leads to the file that defines it', () => {
  const code = 'use crate::job::{\n  Acts as Done,\n  Job,\n};\nmod part {\n  use super::Done;\n}\n';
  assert.deepEqual(arrows(crate({ 'core/explain.rs': code })), [
    'core/explain.rs:2 -> core/job/act.rs',
    'core/explain.rs:3 -> core/job/mod.rs',
    'core/explain.rs:6 -> core/job/act.rs',
  ]);
});

test('a name of another crate leads to the file that defines it there', () => {
  const files = {
    'lower/lib.rs': 'mod a;\npub use a::Thing;\n',
    'lower/a.rs': 'pub struct Thing;\n',
    'upper/lib.rs': 'pub use lower::*;\n',
    'upper/main.rs': 'use std::fmt;\nuse upper::{Other, Thing};\n',
  };
  const named = ['lower', 'upper'].map((name) => ({ name, root: `${name}/lib.rs` }));
  const imports = rustImports(new Map(Object.entries(files)), [...named, { root: 'upper/main.rs' }]);
  assert.deepEqual(arrows(imports.filter(({ from }) => from.startsWith('upper'))), [
    'upper/lib.rs:1 -> lower/lib.rs',
    'upper/main.rs:2 -> upper/lib.rs',
    'upper/main.rs:2 -> lower/a.rs',
  ]);
});

test('re-exporting a name makes no circle, using it does', () => {
  const files = { 'core/job/act.rs': 'use super::Job;\npub struct Acts(Job);\n' };
  const reexporting = 'mod act;\npub(crate) use act::Acts;\npub struct Job;\n';
  assert.deepEqual(forbiddenCircles(table(), crate({ ...files, 'core/job/mod.rs': reexporting })), []);

  const using = `${reexporting}fn f(acts: Acts) {}\n`;
  assert.deepEqual(forbiddenCircles(table(), crate({ ...files, 'core/job/mod.rs': using })), [
    `2 files import each other in a circle:
    core/job/mod.rs:2: \`use act::Acts\` imports core/job/act.rs
    core/job/act.rs:1: \`use super::Job\` imports core/job/mod.rs
    To do: move what both ends need into a file that imports neither.`,
  ]);
});

test('a layer may not re-export a name from above', () => {
  const up = crate({
    'core/job/mod.rs': 'pub use crate::advise::Step;\n',
    'core/advise/mod.rs': 'pub struct Step;\n',
  });
  assert.equal(forbiddenImports(table(), up).length, 1);
});

test('a circle is told by its shortest way, with all files that hang together', () => {
  const files = {
    'page/a.ts': 'import { b } from "./b.ts";\n',
    'page/b.ts': '\nimport { c } from "./c.ts";\nimport { d } from "./d.ts";\n',
    'page/c.ts': 'import { a } from "./a.ts";\n',
    'page/d.ts': 'import { b } from "./b.ts";\n',
    'page/e.ts': 'import { a } from "./a.ts";\n',
  };
  assert.deepEqual(forbiddenCircles(table(), page(files)), [
    `2 files import each other in a circle:
    page/b.ts:3: \`"./d.ts"\` imports page/d.ts
    page/d.ts:1: \`"./b.ts"\` imports page/b.ts
    4 files hang together: page/a.ts, page/b.ts, page/c.ts, page/d.ts
    To do: move what both ends need into a file that imports neither.`,
  ]);
});

const SCREEN = { 'page/screen.tsx': 'export const Screen = () => <p>of</p>;\n' };

for (const [what, statement] of Object.entries({
  'a plain import': 'import { Screen } from "./screen.tsx";',
  'an import of a type': 'import type { Screen } from "./screen.tsx";',
  'an import for its effect': 'import "./screen.tsx";',
  'an import on several lines': 'import {\n  Screen,\n} from "./screen.tsx";',
  'an import while the page runs': 'const later = () => import("./screen.tsx");',
  'a type that names the file': 'type Screen = import("./screen.tsx").Screen;',
  'a re-export': 'export { Screen } from "./screen.tsx";',
  'a re-export of everything': 'export * from "./screen.tsx";',
})) {
  test(`${what} counts on the page`, () => {
    const [said] = forbiddenImports(table(), page({ ...SCREEN, 'page/store.ts': statement }));
    assert.match(
      said,
      /`"\.\/screen\.tsx"` imports page\/screen\.tsx\.\n    Rule: "screen" stands above "store"/,
    );
  });
}

test('comments, strings, workers and packages are no imports on the page', () => {
  const quiet = [
    '// import { Screen } from "./screen.tsx";',
    '/** import("./screen.tsx") */',
    'const text = "import { Screen } from \'./screen.tsx\'";',
    'const template = `import "./screen.tsx"`;',
    'new Worker(new URL("./screen.tsx", import.meta.url));',
    'import { render } from "preact";',
  ];
  assert.deepEqual(page({ ...SCREEN, 'page/store.ts': quiet.join('\n') }), []);
});

test('an import whose specifier is computed is refused', () => {
  const files = { 'page/store.ts': '\nconst f = (name: string) => import(name);\n' };
  assert.throws(
    () => page(files),
    /^Error: page\/store\.ts:2: write the specifier of an import as a plain string/,
  );
});

test('an exception allows one import, and is refused when nothing needs it', () => {
  const files = { ...SCREEN, 'page/store.ts': 'import { Screen } from "./screen.tsx";\n' };
  const excepted = table('page/store.ts -> page/screen.tsx  # why');
  assert.deepEqual(forbiddenImports(excepted, page(files)), []);
  const needless = 'layers.txt:17: nothing needs this exception any more. To do: take the line out.';
  assert.ok(!faultsOfTable(excepted, [], page(files)).includes(needless));
  assert.ok(faultsOfTable(excepted, [], []).includes(needless));

  const circle = page({ 'page/a.ts': 'import "./b.ts";', 'page/b.ts': 'import "./a.ts";' });
  const broken = table('page/a.ts -> page/b.ts  # why');
  assert.equal(forbiddenCircles(table(), circle).length, 1);
  assert.deepEqual(forbiddenCircles(broken, circle), []);
  assert.ok(!faultsOfTable(broken, [], circle).includes(needless));
});

test('a file in no layer, and a path of the table that holds no file, are told', () => {
  const rustFiles = ['core/lib.rs', 'core/advise/mod.rs', 'core/explain.rs', 'core/job/mod.rs'];
  assert.deepEqual(faultsOfTable(table(), [...rustFiles, 'page/new.ts', 'page/store.ts'], []), [
    'page/new.ts is in no layer. To do: add it to layers.txt.',
    'layers.txt:12: page/screen.tsx holds no file. To do: correct it, or take it out.',
  ]);
});

test('a mistake in the table is told with its line', () => {
  assert.throws(() => table('page/a.ts -> page/b.ts'), /^Error: layers\.txt:17: write an exception as/);
  assert.throws(
    () => readTable('[Page]\nstore\n', 'layers.txt'),
    /^Error: layers\.txt:2: write a name and the files/,
  );
});

test('a file that the grammar does not understand is told', () => {
  assert.throws(
    () => crate({ 'core/explain.rs': 'fn f() {\n  let = ;\n}\n' }),
    /^Error: core\/explain\.rs:2: /,
  );
});

const real = await (async () => {
  const [rustFiles, pageFiles] = [rustSources(), pageSources()];
  const imports = { rust: rustImports(rustFiles, await crates()), page: pageImports(pageFiles) };
  const file = 'layers.txt';
  return {
    files: [...rustFiles.keys(), ...pageFiles.keys()],
    imports,
    all: [...imports.rust, ...imports.page],
    table: readTable(readFileSync(join(TESTS, file), 'utf8'), `tests/${file}`),
  };
})();

/** Fails with the list of faults and without a stack trace, which would say nothing. @param {string[]} faults */
function none(faults) {
  if (faults.length === 0) return;
  const error = new Error(`${faults.length} found:\n\n${faults.join('\n\n')}\n`);
  error.stack = error.message;
  throw error;
}

test('tests/layers.txt: every file is in a layer, and every line is needed', () => {
  assert.ok(real.imports.rust.length > 500 && real.imports.page.length > 200);
  none(faultsOfTable(real.table, real.files, real.all));
});

test('tests/layers.txt: every import is from below', () => none(forbiddenImports(real.table, real.all)));

test('tests/layers.txt: no files import each other in a circle', () =>
  none(forbiddenCircles(real.table, real.all)));
