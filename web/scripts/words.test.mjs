// Checks that every text of every shown machine has a translation in every language, and that no translation
// is unused. Reads the descriptions that the build has written.

import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { WEB } from './toolchain.mjs';
import { LANGUAGES, readWords, translated } from './words.mjs';

const FOLDER = join(WEB, 'src', 'engine', 'machines');
const machines = readdirSync(FOLDER)
  .filter((name) => name.endsWith('.json'))
  .map((name) => JSON.parse(readFileSync(join(FOLDER, name), 'utf8')));

for (const language of LANGUAGES) {
  test(`${language}: nothing is left in English, and nothing is left over`, () => {
    const dictionary = readWords(language);
    const [used, missing] = [new Set(), new Set()];
    for (const machine of machines) translated(machine, dictionary, used, missing);
    assert.ok(machines.length > 0 && used.size > 100);
    assert.deepEqual([...missing], [], 'without a translation');
    const all = Object.entries(dictionary).flatMap(([name, texts]) =>
      Object.keys(texts).map((text) => `${name}: ${text}`),
    );
    assert.deepEqual(
      all.filter((text) => !used.has(text)),
      [],
      'said by no machine',
    );
  });
}

test('a word is looked up by its section and, where it has several, by the thing it belongs to', () => {
  const dictionary = {
    machines: { Mower: 'Mäher' },
    checks: { Look: 'Hinsehen', low: { '': 'wenig', ohms: 'niedrig' } },
  };
  const results = [{ id: 'a', name: 'low' }];
  const missing = new Set();
  const german = translated(
    {
      id: 'mower',
      name: 'Mower',
      checks: [
        { id: 'tank', name: 'Look', how: 'Look well.', results },
        { id: 'ohms', name: 'Look', results },
      ],
    },
    dictionary,
    new Set(),
    missing,
  );
  assert.deepEqual(german, {
    id: 'mower',
    name: 'Mäher',
    checks: [
      { id: 'tank', name: 'Hinsehen', how: 'Look well.', results: [{ id: 'a', name: 'wenig' }] },
      { id: 'ohms', name: 'Hinsehen', results: [{ id: 'a', name: 'niedrig' }] },
    ],
  });
  assert.deepEqual([...missing], ['checks: Look well.']);
});
