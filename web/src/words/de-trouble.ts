/**
 * What the engine says of an entry, in German. The texts of the engine are pinned by its own tests; one
 * that is not listed here stays English.
 */
type Rule = readonly [english: RegExp, german: (...found: string[]) => string];

const THINGS: Record<string, string> = {
  machine: "keine Maschine",
  tool: "kein Werkzeug",
  check: "keine Prüfung",
  result: "kein Ergebnis",
  repair: "keine Instandsetzung",
  bypass: "keine Umgehung",
};

const RULES: readonly Rule[] = [
  [
    /^these findings cannot all be true: (.*)$/s,
    (findings) =>
      `Diese Befunde können nicht alle stimmen: ${findings.replaceAll(/\bstep (\d+)/g, "Schritt $1")}`,
  ],
  [/^(\S+) is not above 0$/, (x) => `${x} ist nicht über 0`],
  [
    /^(\S+) m; heights from (\S+) to (\S+) m are reckoned with$/,
    (x, low, high) => `${x} m; gerechnet wird mit Höhen von ${low} bis ${high} m`,
  ],
  [
    /^(.+) is off the scale, which goes from (\S+) to (.+)$/,
    (given, low, high) => `${given} liegt nicht auf der Skala; sie geht von ${low} bis ${high}`,
  ],
  [/^nothing on the scale lies over that$/, () => "darüber liegt nichts mehr auf der Skala"],
  [/^between needs the lower number first$/, () => "die erste Zahl muss die kleinere sein"],
  [/^a finite number is needed$/, () => "eine endliche Zahl ist nötig"],
  [
    /^(\S+) is not a unit of (.+); it takes (.+)$/,
    (unit, _, units) => `${unit} passt hier nicht als Einheit; möglich ist ${units}`,
  ],
  [
    /^there is no (\w+) "([^"]*)"(?:; did you mean "([^"]*)"\?)?$/,
    (what, id, near) =>
      `es gibt ${THINGS[what ?? ""] ?? what} „${id}“${near ? `; war „${near}“ gemeint?` : ""}`,
  ],
  [
    /^they hang together in too many ways to be reckoned with exactly.*$/s,
    () =>
      "sie hängen auf zu viele Arten zusammen, um genau gerechnet zu werden; das kommt von einer immer wieder gemachten Instandsetzung: lassen Sie nur das letzte Mal stehen",
  ],
  [/^the link does not hold a job: (.*)$/s, (why) => `der Link enthält keinen Auftrag: ${german(why ?? "")}`],
  [
    /^the note of the link is (\d+) characters long; (\d+) are the limit$/,
    (long, most) => `die Notiz des Links ist ${long} Zeichen lang; ${most} sind die Grenze`,
  ],
  [/^not valid JSON: .*$/s, () => "das ist kein gültiges JSON"],
  [/^missing field `(.+)`$/, (field) => `es fehlt das Feld „${field}“`],
  [/^unknown field `(.+)`, expected .*$/s, (field) => `ein Feld „${field}“ gibt es hier nicht`],
  [/^unknown variant `(.+)`, expected .*$/s, (name) => `„${name}“ gibt es hier nicht`],
  [/^invalid (?:type|value|length).*$/s, () => "dieser Wert ist nicht von der Art, die hier stehen muss"],
];

const PLACES: readonly Rule[] = [
  [/^steps\[(\d+)\].*$/, (n) => `Schritt ${Number(n) + 1}`],
  [/^rate_per_hour$/, () => "Stundensatz"],
  [/^hand_over_cost$/, () => "Preis des Abgebens"],
  [/^altitude_m$/, () => "Höhe über dem Meer"],
  [/^kit.*$/, () => "Werkzeug"],
  [/^machine$/, () => "Maschine"],
  [/^line (\d+), column (\d+)$/, (line, column) => `Zeile ${line}, Zeichen ${column}`],
  [/^the top$/, () => "Anfang"],
];

function by(rules: readonly Rule[], text: string): string {
  for (const [english, said] of rules) {
    const found = english.exec(text);
    if (found) return said(...found.slice(1));
  }
  return text;
}

/** A message of the engine, its place in front. */
export function german(message: string): string {
  const placed = /^at ([^:]+): (.*)$/s.exec(message);
  if (placed === null) return by(RULES, message);
  return `${by(PLACES, placed[1] ?? "")}: ${by(RULES, placed[2] ?? "")}`;
}
