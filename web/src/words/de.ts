/** Every word the page says of its own accord, in German. */
import lines from "../engine/machines.de.json" with { type: "json" };
import type { Quantity } from "../engine/halfsplit_wasm.js";
import {
  chance,
  date,
  duration,
  fine,
  money,
  number,
  percent,
  read,
  readShort,
  required,
  SHORT_WAIT,
  type ChanceWords,
} from "../say.ts";
import type { Words } from "./en.ts";

const chances: ChanceWords = {
  none: "ausgeschlossen",
  certain: "sicher",
  tiny: (of) => `weniger als 1 von ${of}`,
  huge: "so gut wie sicher",
  about: (some, of) => `etwa ${some} von ${of}`,
};

const odds = (p: number): string => chance(p, chances);

const minutes = (m: number): string =>
  duration(m, {
    under: "unter 1 min",
    minutes: (x) => `etwa ${x} min`,
    hours: (x) => `etwa ${x} h`,
  });

const effort = (m: number, waitHours: number): string =>
  waitHours < SHORT_WAIT ? minutes(m) : `${minutes(m)} und ${fine(waitHours)} h Wartezeit`;

const signed = (x: number): string => {
  const size = fine(Math.abs(x));
  return size === fine(0) ? size : `${x < 0 ? "−" : "+"}${size}`;
};

const things = (n: number): string => (n === 1 ? "1 Schritt" : `${number(n)} Schritte`);

const units: Words["units"] = {
  psi: "psi",
  kpa: "kPa",
  bar: "bar",
  mm: "mm",
  in: "Zoll",
  thou: "Tausendstel Zoll",
  percent: "%",
  ohm: "Ω",
  kohm: "kΩ",
  volt: "V",
  millivolt: "mV",
  gram: "g",
  ounce: "oz",
  minute: "min",
  second: "s",
};

const quantities: Record<Quantity, string> = {
  pressure: "einen Druck",
  length: "eine Länge",
  percent: "einen Anteil",
  resistance: "einen Widerstand",
  voltage: "eine Spannung",
  mass: "ein Gewicht",
  time: "eine Zeit",
};

/** What the engine looked for and did not find. */
const no: Record<string, string> = {
  machine: "keine Maschine",
  tool: "kein Werkzeug",
  check: "keine Prüfung",
  result: "kein Ergebnis",
  repair: "keine Instandsetzung",
  bypass: "keine Umgehung",
  condition: "keinen Fehler",
  setting: "keine Herkunft",
  fitting: "nichts Verbautes namens",
  choice: "keine Wahl",
};

export const de: Words = {
  name: "halfsplit",
  tag: "de",
  minutes,
  effort,
  waiting: (hours) => `${fine(hours)} h Wartezeit`,
  money,
  odds,
  percent,
  count: number,
  oddsAndPercent: (p) => `${odds(p)}, ${percent(p)}`,
  outcomes: {
    runs: "Springt an und läuft",
    dies: "Springt an und geht aus",
    tries: "Hustet oder knallt",
    nothing: "Gar nichts",
  },
  outcomeHints: {
    runs: "läuft nach 30 s noch",
    dies: "geht nach etwa 10 s aus",
    tries: "ein, zwei Zündungen, mehr nicht",
    nothing: "kein Huster, oder er dreht nicht",
  },
  kinds: {
    check: "Prüfen",
    attempt: "Starten",
    bypass: "Start mit Umgehung",
    repair: "Instandsetzen",
    "hand-over": "Aufhören",
  },
  checkKinds: {
    asked: "Fragen",
    "looked-at": "Ansehen",
    smelt: "Riechen",
    tester: "Prüfgerät",
    gauge: "Messen",
  },
  known: { seen: "Gesehen", told: "Gehört", unsure: "Unsicher" },
  verdicts: {
    "the-reason": "da, und die Ursache",
    "there-not-the-reason": "da, aber nicht die Ursache",
    "there-undecided": "da; ob es die Ursache ist, ist offen",
    "not-there": "wohl doch nicht da",
  },
  units,

  machines: lines,

  wait: "Das Rechenwerk wird geholt",
  working: "Wird ausgerechnet",

  trouble: {
    title: "Das ging nicht",
    crash: (why) =>
      `Das Rechenwerk ist stehen geblieben: ${why}. Der Auftrag ist, wie er war; es beginnt von neuem.`,
    language: "eine andere Sprache wurde gewählt",
    silent: "es gab eine Minute lang keine Antwort",
    notLoaded: "es konnte nicht geladen werden",
    unknown: "auf der Seite ist etwas zerbrochen",
    again: "Noch einmal",
    dismiss: "In Ordnung",
    impossible: "Die Befunde passen nicht zusammen",
    job: "Dieser Auftrag lässt sich nicht ausrechnen",
    jobHint:
      "Nichts ist verloren. Nehmen Sie den letzten Schritt zurück, oder ändern oder streichen Sie einen Befund in der Liste.",
    notKept: (why) =>
      `Dieser Browser behält den Auftrag nicht (${why}). Kopieren Sie den Link, bevor Sie die Seite schließen.`,
    storedBroken: (why) =>
      `Der Auftrag in diesem Browser ließ sich nicht lesen (${why}). Er wurde beiseitegelegt, nicht gelöscht.`,
    twice:
      "Dieser Auftrag wurde zugleich in einem anderen Fenster geändert. Beide bleiben: hier geht es mit einem zweiten weiter.",
    notAJob: "es ist kein Auftrag darin",
    notANumber: (text) =>
      text.trim() === "" ? "Geben Sie die abgelesene Zahl ein." : `„${text}“ ist keine Zahl.`,
    edges: "Die erste Zahl muss die kleinere sein.",
    cannotAll: "Das kann nicht alles stimmen:",
    linked: (what) => `Was der Link enthält, ist kein Auftrag. ${what}`,
    note: (letters, limit) =>
      `Die Notiz ist ${number(letters)} Zeichen lang; ${number(limit)} sind die Grenze.`,
    ours: (said) => `Ein Fehler von uns (${said}). Der Auftrag ist, wie er war.`,
    places: {
      step: (n) => `Schritt ${n}`,
      inStep: (n, field) => `Schritt ${n}, „${field}“`,
      fields: {
        machine: "Maschine",
        kit: "Werkzeug",
        rate_per_hour: "Stundensatz",
        wait_cost_per_hour: "Kosten einer Stunde Wartezeit",
        hand_over_cost: "Preis des Abgebens",
        worth: "Was sie wert ist",
        spare: "Was zu sparen ist",
        altitude_m: "Höhe über dem Meer",
        settings: "Woher sie kommt",
        fitted: "Was verbaut ist",
        told: "Woher es bekannt ist",
      },
    },
    rules: {
      "no-such": (what, id, nearest) =>
        `Es gibt ${no[what] ?? what} „${id}“${nearest === null ? "." : `; war „${nearest}“ gemeint?`}`,
      "another-machine": (job, description) =>
        `Der Auftrag handelt von „${job}“, die Beschreibung von „${description}“.`,
      "not-above-nothing": (given) => `${read(given)} ist nicht über 0.`,
      height: (given, low, high) =>
        `${read(given)} m; gerechnet wird mit Höhen von ${read(low)} bis ${read(high)} m.`,
      "no-number": (check) => `„${check}“ gibt keine Zahl; wählen Sie ein Ergebnis.`,
      "result-or-reading": (check) => `„${check}“ braucht entweder ein Ergebnis oder eine Zahl.`,
      "no-temperature": () => "Was das zeigt, hängt nicht an der Temperatur; lassen Sie sie weg.",
      temperature: (given, low, high) =>
        `${read(given)} °C; gerechnet wird mit ${read(low)} bis ${read(high)} °C.`,
      "not-finite": () => "Hier muss eine Zahl stehen.",
      "wrong-unit": (given, wanted) => `${units[given]} ist keine Einheit für ${quantities[wanted]}.`,
      "off-scale": (given, own, scale, passed) =>
        `${given}${own === undefined ? "" : ` (${own})`} liegt nicht auf der Skala; sie geht von ${scale}. Lesen Sie noch einmal ab${passed === undefined ? "." : `, oder tragen Sie „${passed}“ ein, wenn der Zeiger über das Ende hinausging.`}`,
      "nothing-over": () => "Darüber liegt nichts. Lesen Sie noch einmal ab.",
      "one-way": () => "Geben Sie eines an: steht bei, liegt über, liegt zwischen.",
      tangled: () =>
        "Das hängt auf zu viele Arten zusammen, um genau gerechnet zu werden. Das kommt von einer immer wieder gemachten Instandsetzung: lassen Sie nur das letzte Mal stehen.",
      share: (given) => `${read(given)} liegt nicht zwischen 0 und 1.`,
      "no-step": (steps) => `Der Auftrag hat nur ${things(steps)}.`,
      "always-starts": () => "Diese Maschine springt fast immer an: damit lässt sich nicht üben.",
    },
    shapes: {
      "not-json": (line, column) =>
        `Das ist keine Auftragsdatei: Zeile ${number(line)}, Zeichen ${number(column)} ist kein JSON.`,
      "missing-field": (name) => `Es fehlt das Feld „${name}“.`,
      "unknown-field": (name, known) =>
        `Ein Feld „${name}“ gibt es hier nicht; es gibt: ${known.join(", ")}.`,
      "unknown-name": (name, known) => `„${name}“ ist keines von: ${known.join(", ")}.`,
      // What serde says of it is English.
      "wrong-kind": () => "Dieser Wert ist nicht von der Art, die hier stehen muss.",
    },
  },

  intake: {
    title: "Was liegt auf der Werkbank?",
    lead: "Ein kleiner Motor, der nicht anspringt: ein Schritt nach dem anderen, bis er läuft. Alles geschieht auf dieser Seite; nichts wird irgendwohin gesandt.",
    machine: "Maschine",
    tried: "Beim letzten richtigen Versuch, einige volle Züge",
    notTried: "Noch nicht versucht",
    tools: "Werkzeug zur Hand",
    toolsHint: "Angeboten werden nur Schritte, für die das Werkzeug da ist. Das lässt sich später ändern.",
    usualTools: (atHand, of) => `Das übliche Werkzeug: ${atHand} von ${of} zur Hand`,
    all: "Alles",
    none: "Nichts",
    told: "Was der Besitzer sagt",
    toldHint: "Hörensagen, und so wird damit gerechnet. Was offen bleibt, lässt sich später fragen.",
    story: "Woher wissen Sie, was eingetragen wird?",
    stories: { seen: "Selbst gesehen und getan", told: "Alles erzählt (Telefon, Forum)" },
    fitted: "Was verbaut ist",
    fittedHint: "Nur was sicher ist. Was offen bleibt, zählt so, wie es bei solchen Maschinen verteilt ist.",
    from: "Woher sie kommt",
    fromHint: "Manche Fehler kommen mit der Jahreszeit, andere damit, wer fragt.",
    open: "bleibt offen",
    known: (some, of) => `${number(some)} von ${number(of)} bekannt`,
    limits: "Was zu sparen ist, Grenzen, Höhe",
    spare: "Was ist zu sparen?",
    spared: { both: "Zeit und Geld", minutes: "Zeit", money: "Geld" },
    rate: "Preis einer Stunde Ihrer Arbeit",
    rateHint: "in Ihrer Währung",
    wait: "Kosten einer Stunde Wartezeit",
    waitHint: "während sie lädt, auftaut oder steht und niemand daran arbeitet",
    handOver: "Preis des Abgebens",
    handOverHint: "was das Aufhören kostet: eine Werkstatt oder eine andere Maschine",
    worth: "Was sie wert ist, wenn sie läuft",
    worthHint: "mehr als das wird nicht hineingesteckt; bleibt es leer, wird nicht danach gefragt",
    altitude: "Höhe über dem Meer",
    altitudeHint: "dünne Luft senkt, was ein Manometer zeigt",
    metres: "m",
    feet: "ft",
    usual: (x) => `üblich: ${money(x)}`,
    start: "Diesen Auftrag beginnen",
    demo: "Musterauftrag öffnen",
    demoHint: "ein erfundener Mäher, um zu sehen, wie es geht",
    carryOn: "Weiter",
    carryOnWith: (machine, steps) => `${machine}, ${things(steps)} bisher`,
    replaces: "Wird ein anderer begonnen oder geöffnet, bleibt dieser im Regal.",
  },

  bar: {
    nav: "Diese Seite",
    copy: "Link kopieren",
    copied: "Link kopiert. Wer ihn öffnet, sieht diesen Auftrag, wie er steht.",
    refused: "Die Zwischenablage wurde verweigert. Kopieren Sie den Link von hier:",
    linkField: "Link zu diesem Auftrag",
    tools: "Werkzeug",
    toolsLong: "Werkzeug, was verbaut ist, Grenzen",
    save: "Sichern",
    cancel: "Lassen",
    another: "Anderer Auftrag",
  },

  jump: {
    nav: "Springen zu",
    result: "Ergebnis",
    odds: "Chancen",
    found: "Befund",
    other: "Anderes",
  },

  shelf: {
    title: "Im Regal",
    line: (steps, changed) => `${things(steps)}, ${date(changed)}`,
    exercise: "Übung",
    open: "Vornehmen",
    openWhat: (what) => `Vornehmen: ${what}`,
    remove: "Wegwerfen",
    removeWhat: (what) => `Wegwerfen: ${what}`,
    removed: (what) => `Weggeworfen: ${what}.`,
    putBack: "Zurücklegen",
    file: "Auftragsdatei öffnen",
    fileBad: "Diese Datei lässt sich nicht öffnen",
  },

  update: {
    ready: "Eine neuere Fassung dieser Seite liegt bereit. Die Aufträge bleiben, wie sie sind.",
    take: "Jetzt nehmen",
    later: "Später",
  },

  prefs: {
    title: "Sprache, Einheiten der Ablesungen",
    language: "Sprache",
    languages: { en: "English", de: "Deutsch" },
    units: "Einheiten der Ablesungen",
    metric: "metrisch",
    us: "US",
  },

  handOn: {
    open: "Weitergeben",
    title: "Diesen Auftrag weitergeben",
    lead: "Der Link enthält den ganzen Auftrag und öffnet ihn, wie er steht. Er sagt nichts über Sie; er geht nirgendwohin, bis Sie ihn senden.",
    note: "Notiz dazu",
    noteHint: "Reist im Link und wird als reiner Text gezeigt. Lassen Sie Namen und Adressen weg.",
    code: "Code zum Abfotografieren",
    codeOf: "Der Link als Code für ein anderes Telefon.",
    codeTooLong: "Der Auftrag ist zu lang für einen Code; nehmen Sie den Link.",
    text: "Text zum Einfügen",
    formats: { plain: "Einfach", markdown: "Markdown", bbcode: "BBCode" },
    format: "Auszeichnung",
    copyText: "Text kopieren",
    textCopied: "Text kopiert.",
    save: "Als Datei sichern",
    found: "Befunde bisher",
    odds: "Am wahrscheinlichsten",
    next: "Nächster Schritt",
    runs: "Er läuft.",
    link: "Der Auftrag, zum Ansehen und Weitermachen",
    cause: (name, p) => `${name}: ${odds(p)} (${percent(p)})`,
  },

  sheet: {
    open: "Arbeitsblatt",
    title: "Arbeitsblatt",
    print: "Drucken",
    back: "Zurück zur Werkbank",
    machine: "Maschine",
    owner: "Besitzer",
    date: "Datum",
    done: "Was gefunden und getan wurde",
    what: "Was",
    result: "Ergebnis",
    minutes: "Minuten",
    parts: "Teile",
    total: "Zusammen",
    reason: "Die Ursache",
    likeliest: "Bisher am wahrscheinlichsten",
    there: "Da, aber nicht die Ursache",
    mend: "Noch instand zu setzen",
    mendBy: (repair, m, waitHours, parts) =>
      `${repair} (${effort(m, waitHours)}${parts > 0 ? `, Teile ${money(parts)}` : ""})`,
    leaves: "Zu beachten",
    next: "Nächster Schritt",
    season: "Für die nächste Saison",
    likelier: (when) => `häufiger bei „${when.join("“ oder „")}“`,
    seasonManual: "Die Anleitung des Herstellers geht vor.",
    noReason: "Nicht geklärt.",
  },

  confirm: {
    title: "Was zu bestätigen ist",
    texts: [
      "Mit dem eigenen Bedienteil abstellen und sehen, dass Messer oder Werkzeug in der Zeit der Anleitung stillstehen.",
      "Noch einmal warm starten, und am nächsten Tag kalt: ein ersoffener Motor oder eine Spule, die warm versagt, verbirgt sich bis dahin. Erst dann ist der Auftrag abgeschlossen.",
      "War die Kerze oder ein Bedienteil der Grund: einmal wiederherstellen und sehen, dass der Motor wieder stehen bleibt; dann wieder beheben. Nie mit Passfeder, Messer, Bremse, Kraftstoff oder Kabeln.",
      "An Tank, Leitung und Vergaser nach austretendem Kraftstoff sehen.",
    ],
    mend: "Was noch instand zu setzen ist",
  },

  why: {
    saves: (x) => `Spart im Mittel etwa ${money(x)} gegenüber Instandsetzen nach den Chancen allein`,
    savesLittle: "Spart im Mittel wenig",
    shows: (result, p, leader, then) =>
      `Zeigt sich „${result}“ (Chance ${percent(p)}), führt ${leader} mit ${percent(then)}.`,
    runsNow: (p) =>
      `Er läuft jetzt mit einer Chance von ${percent(p)}; und was er tut, sagt mehr als jedes Prüfgerät.`,
    repaired: (p) => `Danach läuft er mit einer Chance von ${percent(p)}.`,
    stillNot: (leader, p) => `Wenn dann immer noch nicht, führt ${leader} mit ${percent(p)}.`,
    goOn: "Danach weitermachen, bevor wieder gestartet wird: wahrscheinlich ist mehr als eines defekt.",
    handOver: "Weiterzumachen kostet voraussichtlich mindestens so viel wie aufzuhören.",
    handOverName: "Hier aufhören: abgeben oder ersetzen",
    notWorthName: "Hier aufhören: die Reparatur lohnt nicht",
  },

  remarks: {
    enoughIsKnown: (saves) =>
      `Genug ist bekannt: nichts, was sich vorher ansehen ließe, ist seine Minuten wert${
        saves === undefined ? "." : ` (es kostete im Mittel etwa ${money(saves)} mehr).`
      }`,
    oneRepairCures: (causes) => `Damit ist alles Wahrscheinliche erledigt: ${causes.join("; ")}.`,
    betterStop: (saves) => `Aufhören spart im Mittel etwa ${money(saves)} gegenüber dem besten Schritt.`,
    leftOut: (steps) =>
      `Die Arbeit ist zu lang, um mit allen Startversuchen zu rechnen. Nicht berücksichtigt: ${
        steps.length === 1 ? "Schritt" : "Schritte"
      } ${steps.join(", ")}.`,
  },

  stillToCome: {
    title: "Was noch kommt",
    work: "Arbeit",
    wait: "Wartezeit",
    waitAtMost: (hours) => `im Mittel; in neun von zehn Fällen höchstens ${fine(hours)} h`,
    price: "Preis, höchstens etwa",
    runs: "Läuft am Ende, mindestens etwa",
    atLeast: "Wäre die Ursache bekannt",
    noLess: "im Mittel; darunter ist mit keinem Rat zu rechnen",
    minutesAtMost: (m) => `im Mittel; in neun von zehn Fällen höchstens ${minutes(m)}`,
    priceAtMost: (x) => `im Mittel; in neun von zehn Fällen höchstens ${money(x)}`,
    hint: "Nach dem Plan hinter dem Rat; Teile und Abgeben sind im Preis enthalten. Der Rat wird nach jedem Schritt neu berechnet und ist meist besser.",
    sampled: (p) =>
      `${percent(p)} der Chancen liegen bei mehreren Ursachen zugleich, die nicht einzeln betrachtet wurden: Stichproben stehen für sie.`,
  },

  lookingAhead: {
    looking: "Sieht weiter voraus",
    enough: "Das genügt",
    goOn: "Weiter vorausschauen",
    before: (step) => `Weiter vorausgesehen kommt das vor: ${step}.`,
    looked: (looks, brokenOff) =>
      brokenOff
        ? `Nach ${looks} der Blicke voraus abgebrochen.`
        : `Die Schritte, die vorn liegen, wurden weiter voraus verfolgt: insgesamt ${looks} Blicke.`,
  },

  notNow: {
    tool: (name) => `braucht Werkzeug, das nicht zur Hand ist: ${name}`,
    notFitted: "an dieser Maschine nicht verbaut",
    tryFirst: "kommt nach einem einfachen Startversuch",
    comesAfter: (findings) => `kommt nach: ${required(findings, "oder")}`,
    waits: (why) => `muss warten: ${why}`,
  },

  waits: {
    title: "Was warten muss",
    thisStep: "Dieser Schritt muss warten",
    endsWait: "Dies kommt zuerst: andere Schritte warten darauf.",
    first: (n) => (n === 1 ? "Zuerst dies:" : "Zuerst eins davon:"),
    show: (n) => (n === 1 ? "1 Schritt wartet" : `${number(n)} Schritte warten`),
    doneAnyway: "Wurde einer davon trotzdem getan, wählen Sie ihn und tragen Sie ein, was herauskam.",
    thisDoneAnyway: "Wurde er trotzdem getan, tragen Sie ein, was herauskam.",
  },

  stillNotName: "instand gesetzt, versucht, läuft immer noch nicht",

  lesson: {
    open: "Im Unterricht",
    title: "Wie sich die Chancen bewegten",
    lead: "Eine Frage von Anfang bis Ende: was hielt die Maschine auf, als sie kam?",
    back: "Zurück zur Werkbank",
    full: "Ganzer Bildschirm",
    parts: "Seiten der Stunde",
    tabs: {
      odds: "Chancen",
      step: "Ein Schritt",
      why: "Warum",
      graph: "Was woran hängt",
      suppose: "Was wäre wenn",
    },
    scale: "Skala",
    percent: "Prozent",
    logOdds: "Log-Chancen",
    chart: "Chancen der wahrscheinlichsten Ursachen über die Schritte",
    table: "Dasselbe als Tabelle",
    cause: "Ursache",
    before: "Zuerst",
    step: (n) => `Schritt ${n}`,
    earlier: "Schritt zurück",
    later: "Schritt vor",
    ofSteps: (n, all) => `Schritt ${n} von ${all}`,
    noSteps: "Noch ist nichts getan: es gibt nichts anzusehen.",
    chooseCause: "Ursache, um die es geht",
    repair:
      "Instandsetzen ändert die Maschine. Es ist kein Befund: die Chancen dessen, was sie zuerst aufhielt, bleiben.",
    relative: "Eine Zahl auf feiner Skala ist bei jeder Ursache selten: nur das Verhältnis der beiden zählt.",
    replaces: (n) => `Er tritt an die Stelle von Schritt ${n}: die Chancen davor sind die ohne jenen.`,
    of: (all) => `Von ${number(all)} Maschinen wie dieser, mit allem, was vorher bekannt war`,
    have: (n, name) => `${number(n)} haben es: ${name}`,
    haveNot: (n) => `${number(n)} haben es nicht`,
    show: (n) => `${number(n)} davon zeigen dies`,
    so: (some, all, p) =>
      `Also haben es von ${number(all)} Maschinen, die dies zeigen, ${number(some)}: ${percent(p)}.`,
    oddsForm: "Dasselbe als Chancen mal Faktor",
    prior: "Chancen davor",
    factor: "Faktor",
    posterior: "Chancen danach",
    toOne: (x) => (x >= 1 ? `${readShort(x)} zu 1` : `1 zu ${readShort(1 / x)}`),
    times: (x) => `× ${readShort(x)}`,
    weight: (db) => `Gewicht ${readShort(db)} Deziban`,
    noOdds: "über alle Grenzen",
    graphLead:
      "Pfeile gehen von dem, was bewirkt, zu dem, was bewirkt wird. Chancen fließen in beide Richtungen.",
    acting: "das Schlimmste von allem, was wirkt",
    attempt: (outcome) => `Versuch: ${outcome}`,
    arrows: "Pfeile",
    arrow: (from, to) => `${from} zu ${to}`,
    supposeLead: "Was, wenn die Zahlen andere wären? Die Chancen werden neu gerechnet.",
    supposeFactor: "Chancen dafür unter den Maschinen, die gebracht werden",
    asAuthored: "wie in der Beschreibung",
    timesAsLikely: (x) => (x >= 1 ? `${readShort(x)}-fach` : `1/${readShort(1 / x)}`),
    told: "Vertrauen in Gehörtes",
    trust: (x) => percent(x),
    supposed: "dann",
    now: "wie es ist",
    reset: "Zurückstellen",
  },

  exercise: {
    begin: "Eine Übung beginnen",
    lead: "Eine Maschine mit verborgenem Fehler. Wählen Sie Schritte gegen die Uhr der Arbeitsminuten; dann sehen Sie, wie der Rat vorgegangen wäre.",
    number: "Nummer der Übung",
    badNumber: (largest) => `Die Nummer ist eine ganze von 1 bis ${number(largest)}.`,
    numberHint: "dieselbe Nummer ist für alle derselbe Fehler",
    start: "Übung beginnen",
    region: "Übung",
    clock: (m, waitHours) => `Arbeitszeit: ${effort(m, waitHours)}`,
    pick: "Tun",
    pickHint: "Das Ergebnis wird gezogen; es lässt sich nicht wählen.",
    giveUp: "Aufgeben und nachsehen",
    see: "Nachsehen, was es war",
    was: "Was nicht stimmte",
    stopped: "hielt ihn auf",
    harmless: "da, aber nicht die Ursache",
    mended: "instand gesetzt",
    ran: "Er läuft.",
    you: "Sie",
    advice: "Der Rat",
    compare: "Vergleich",
    steps: "Schritte",
    time: "Arbeitsminuten",
    cost: "Preis",
    runs: "Läuft",
    yes: "ja",
    no: "nein",
    hideAdvice: "In einer Übung bleibt der Rat verborgen.",
    showAdvice: "Den Rat zeigen",
  },

  link: {
    broken: "Dieser Link lässt sich nicht öffnen",
    kept: "Ihr Auftrag bleibt, wie er war.",
    arrived: "Mit diesem Link kam ein Auftrag",
    about: (steps) => `${things(steps)} bisher.`,
    question: (steps) => `Ihr eigener Auftrag, ${things(steps)}, liegt noch auf der Werkbank.`,
    version: (now, first) =>
      `der Link ist von einer Fassung, die diese Seite nicht kennt (er sollte mit „${now}“ oder „${first}“ beginnen)`,
    characters: "der Link ist beschädigt: er enthält fremde Zeichen, oder sein Ende fehlt",
    packing: "der Link ist beschädigt: sein Inhalt lässt sich nicht entpacken",
    noExercise: "der Link gehört zu einer Übung, und ihre Nummer ist keine",
    note: "Notiz des Absenders",
    changed:
      "Die Beschreibung der Maschine hat sich geändert, seit der Link gemacht wurde: Chancen und Rat können anders sein, als der Absender sie sah.",
    unknownSteps:
      "Diese Schritte sagen der Beschreibung hier nichts. Sie bleiben in der Liste, um sie richtigzustellen:",
    stranger: (step, why) => `Schritt ${step}: ${why}`,
    open: "Den Auftrag aus dem Link öffnen",
    keep: "Meinen behalten",
  },

  step: {
    attempt: "Versuchen zu starten",
    region: "Nächster Schritt",
    chosenRegion: "Gewählter Schritt",
    back: "Zurück zum geratenen Schritt",
    how: "Wie",
    tools: "Werkzeug",
    setup: "Zuerst",
    setupOne: (name, m) => `${name} (${minutes(m)})`,
    caution: "Vorsicht",
    defer: "Die Anleitung des Herstellers, örtliche Vorschriften und zugelassene Fachleute gehen vor.",
    note: "Hinweis",
    notAdvised: (why) => `Jetzt nicht geraten: ${why}`,
    price: (x, parts = 0) =>
      parts > 0 ? `Preis ${money(x)}, davon Teile ${money(parts)}` : `Preis ${money(x)}`,
    whatCameOut: "Was kam heraus?",
    whatHappened: "Was tat der Motor?",
    thenLikeliest: (name, p) => `dann am wahrscheinlichsten: ${name}, ${odds(p)}`,
    thenRuns: "dann läuft er",
    wouldLead: "Wohin es führen würde",
    done: "Getan",
    doneHint: "dann versuchen zu starten",
    afterRepair: "Instand gesetzt: sehen Sie, was der Motor dazu sagt.",
    howKnown: "Woher bekannt?",
    handOver: "Nichts einzutragen. Die anderen Schritte stehen weiter offen.",
    repeat:
      "Schon getan; ein neues Ergebnis tritt an die Stelle des alten, wenn sich dazwischen nichts geändert hat.",
  },

  reading: {
    title: "Abgelesene Zahl",
    mode: "Sie",
    modes: { value: "ist", over: "ist über", between: "liegt zwischen" },
    value: "Ablesung",
    low: "Kleinste",
    high: "Größte",
    unit: "Einheit",
    record: "Ablesung eintragen",
    bands: "Oder ungefähr",
    say: {
      value: (x, unit) => `${read(x)} ${units[unit]}`,
      over: (x, unit) => `über ${read(x)} ${units[unit]}`,
      between: (a, b, unit) => `${read(a)} bis ${read(b)} ${units[unit]}`,
    },
  },

  causes: {
    title: "Was ihn aufhält",
    titleAfter: "Was ihn aufhielt",
    readings: "Was die Ablesungen bedeuten",
    likeliest: (name, p) => `Am wahrscheinlichsten: ${name}, ${odds(p)}`,
    was: (p) => `vor dem letzten Schritt ${odds(p)}`,
    wasShort: (p) => `war ${percent(p)}`,
    nextIs: (name) => `als nächstes: ${name}.`,
    nothingStops: (p) => `Nichts hält ihn auf: ${odds(p)}, ${percent(p)}`,
    reason: "die Ursache",
    there: "da, aber nicht die Ursache",
    before: "vor dem letzten Schritt",
    alsoThere: (p) => `da, aber nicht die Ursache: ${percent(p)}`,
    showAll: (n) => `Alle ${n} zeigen`,
    showFew: "Die wahrscheinlichsten zeigen",
    repaired: "instand gesetzt",
  },

  reasons: {
    numbered: (n, what) => `${number(n)}. ${what}`,
    title: "Warum",
    open: "Warum?",
    openFromStep: "Warum, ausführlich",
    close: "Gründe schließen",
    says: {
      leads: (name, p) => `Am wahrscheinlichsten: ${name}, ${odds(p)}.`,
      mostFor: (step, weight) => `Am meisten dafür: ${step} (${signed(weight)}).`,
      mostAgainst: (step, weight) => `Am meisten dagegen: ${step} (${signed(weight)}).`,
      conflicting:
        "Die Befunde passen nicht zusammen: einer ist vielleicht falsch, oder die Ursache steht nicht auf der Liste.",
      wrong: (step) => `Es wäre aufgelöst, wenn dies falsch wäre: ${step}.`,
      unusual: (name) => `Die Befunde kommen selten zusammen, aber dies erklärt es: ${name}.`,
      overturn: (name, p) => `Ändert das am ehesten: ${name}, ${percent(p)}.`,
    },
    weights: "Was jeder Befund wiegt",
    weightsHint:
      "In Dezibann: 3 ist das Doppelte der Chancen, 10 das Zehnfache, 20 das Hundertfache; unter 0 spricht es dagegen.",
    weightsOf: (name) => `Gewicht jedes Schritts für: ${name}`,
    cause: "Für welche Ursache",
    step: "Schritt",
    inOrder: "Als er kam",
    leftOut: "Neben allen anderen",
    decibans: (x) => signed(x),
    beyond: "keine Zahl",
    seldom: "Selten zusammen gefunden",
    pair: (a, b, times) => `${a}; ${b}: ${fine(times)}-mal seltener als durch Zufall`,
    merely: "Nicht in Ordnung, und nicht die Ursache",
    overturn: "Was eine andere Ursache nach vorn brächte",
    after: (result, p, leader, after) =>
      `${result} (Chance ${percent(p)}): dann ${leader}, ${percent(after)}`,
    numbers: "Was an welcher Zahl hängt",
    numbersHint:
      "Jede Zahl für sich, ihre Chancen halbiert und verdoppelt; die anderen ihrer Zeile behalten ihr Verhältnis. Verteilungen von Messwerten rücken um eine halbe Streuung.",
    numbersOf: (name, p) => `Chance von: ${name}; jetzt ${percent(p)}`,
    number: "Zahl",
    low: "Halbiert",
    high: "Verdoppelt",
    now: (value) => `(jetzt ${value})`,
    proved: "Was gefunden wurde, entscheidet es: keine einzelne Zahl ändert das.",
    stands: "Bliebe der Rat?",
    leaderStays: (n, of) =>
      n === 0
        ? `Dieselbe Ursache führt mit jeder von ${number(of)} Zahlen, halbiert und verdoppelt.`
        : `Eine andere Ursache führt bei ${number(n)} von ${number(of)} Zahlen, halbiert oder verdoppelt.`,
    overtaken: (rivals) =>
      rivals.length === 0
        ? "Sie führt auch noch, wenn sie dreimal seltener ist und eine andere dreimal häufiger."
        : `Wenn sie dreimal seltener ist und jene dreimal häufiger, wird sie überholt von: ${rivals.join(", ")}.`,
    adviceStays: (n, of) =>
      n === 0
        ? `Derselbe Schritt wird geraten mit jeder von ${number(of)} Zahlen, halbiert und verdoppelt.`
        : `Ein anderer Schritt wird geraten bei ${number(n)} von ${number(of)} Zahlen, halbiert oder verdoppelt:`,
    within: (figure, low, high, now) => `${figure}: der Rat bleibt von ${low} bis ${high}; jetzt ${now}`,
    otherwise: "sonst",
    or: " oder ",
    acts: {
      harmless: "nichts, das wirkt",
      dies: "einem Fehler, mit dem er ausgeht",
      tries: "einem Fehler, mit dem er hustet",
      nothing: "einem Fehler, der ihn aufhält",
    },
    figures: {
      rate: (of) => `Wie häufig: ${of}`,
      share: (of, state) => `Wie häufig: ${of}: ${state}`,
      harmless: (of) => `Wie oft es nicht schadet: ${of}`,
      severity: (of, ends) => `Wie oft es so wirkt: ${of}: ${ends}`,
      spoils: (of, level, when) => `${of}: ${level}, durch: ${when}`,
      finding: (of, result, when) => `${of}: ${result}, bei: ${when}`,
      middle: (of, when) => `${of}: Mitte der Messwerte, bei: ${when}`,
      spread: (of, when) => `${of}: Streuung der Messwerte, bei: ${when}`,
      ends: (of, ends, worst) => `${of}: ${ends}, mit ${worst}`,
      takes: (of) => `Dass die Instandsetzung hält: ${of}`,
      trust: (of) => `Vertrauen in den Befund: ${of}`,
    },
  },

  others: {
    title: "Andere gute Schritte",
    everything: (n) => `Alles zeigen, was möglich ist (${number(n)})`,
    fewer: "Nur die besten zeigen",
    setAside: "Lohnt sich jetzt nicht",
    setAsideHint:
      "Lohnt sich jetzt nicht: Es ist ausgeschlossen, sagt nichts Neues oder kostet mehr, als es sparen kann. Eintragen können Sie es trotzdem.",
    something: "Etwas anderes tun",
    search: "Prüfung, Umgehung, Instandsetzung oder Versuch suchen",
    nothing: "Nichts dieses Namens.",
    groups: {
      attempt: "Versuchen zu starten",
      bypass: "Start mit Umgehung",
      check: "Prüfungen",
      repair: "Instandsetzungen",
    },
  },

  found: {
    title: "Was gefunden wurde",
    none: "Noch nichts.",
    allTold: "Die ganze Geschichte ist gehört, wo nichts anderes dabeisteht.",
    coming: (what) => `Eingetragen: ${what}. Wird ausgerechnet.`,
    undo: "Zurück",
    redo: "Vor",
    undoWhat: (what) => `Zurück: ${what}`,
    redoWhat: (what) => `Vor: ${what}`,
    change: "Ändern",
    changeWhat: (what) => `Ändern: ${what}`,
    save: "Änderung sichern",
    remove: "Streichen",
    cancel: "Lassen",
    result: "Ergebnis",
    mended: "Instand gesetzt",
    tried: "Zu starten versucht",
    outweighed: "Zählt nicht: Ein früherer Befund ist besser bekannt.",
    speaks: (cause, verdict) => `${cause}: ${verdict}`,
    unknownStep: (id) => `unbekannter Schritt „${id}“`,
  },

  changes: {
    settings: "Werkzeug und Preise",
    changed: (what) => `Änderung von ${what}`,
    removed: (what) => `Streichung von ${what}`,
  },

  closing: {
    title: "Er läuft",
    reason: (name) => `Die Ursache: ${name}`,
    reasonOpen: "Die Ursache ist nicht geklärt. Am wahrscheinlichsten:",
    noReason: "Nichts auf der Liste tat sich als Ursache hervor.",
    there: "Da, aber nicht die Ursache",
    mended: "instand gesetzt",
    still: "noch da",
    took: "Was es brauchte",
    tookText: (m, waitHours, parts, cost) =>
      `Arbeit: ${effort(m, waitHours)}. Teile: ${money(parts)}. Zusammen: ${money(cost)}.`,
    reminders: "Bevor er hinausgeht",
    bypassed: (names) =>
      `Eine Umgehung war im Spiel (${names}): sehen Sie nach, dass alles ist, wie es war, und dass die Bedienteile den Motor abstellen, wie sie sollen.`,
  },
};
