/** Every word the page says of its own accord, in German. */
import { chance, date, duration, money, number, percent, read, type ChanceWords } from "../say.ts";
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

const read3 = (x: number): string => read(Number(x.toPrecision(3)));

const things = (n: number): string => (n === 1 ? "1 Schritt" : `${number(n)} Schritte`);

const units: Words["units"] = {
  psi: "psi",
  kpa: "kPa",
  bar: "bar",
  mm: "mm",
  in: "Zoll",
  percent: "%",
  ohm: "Ω",
  kohm: "kΩ",
  volt: "V",
  gram: "g",
  ounce: "oz",
  minute: "min",
  second: "s",
};

export const de: Words = {
  name: "halfsplit",
  tag: "de",
  minutes,
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

  machines: {
    "mower-recoil": {
      name: "Rasenmäher mit Seilzugstarter, Viertakter",
      about:
        "Handgeführter Sichelmäher mit Benzinmotor und Seilzugstarter: ein Zylinder, vier Takte, 125 bis 225 cm³. Die Anteile gelten für Maschinen, die gebracht werden, weil sie schlecht oder gar nicht anspringen.",
    },
  },

  wait: "Das Rechenwerk wird geholt",
  working: "Wird ausgerechnet",

  trouble: {
    place: (message) =>
      message
        .replace(/^at steps\[(\d+)\][^:]*: /, (_, n: string) => `Schritt ${Number(n) + 1}: `)
        .replace(/^at rate_per_hour: /, "Stundensatz: ")
        .replace(/^at hand_over_cost: /, "Preis des Abgebens: ")
        .replace(/^at altitude_m: /, "Höhe über dem Meer: ")
        .replace(/^at kit[^:]*: /, "Werkzeug: "),
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
      "Nichts ist verloren. Nimm den letzten Schritt zurück, oder ändere oder streiche einen Befund in der Liste.",
    notKept: (why) =>
      `Dieser Browser behält den Auftrag nicht (${why}). Kopiere den Link, bevor du die Seite schließt.`,
    storedBroken: (why) =>
      `Der Auftrag in diesem Browser ließ sich nicht lesen (${why}). Er wurde beiseitegelegt, nicht gelöscht.`,
    twice:
      "Dieser Auftrag wurde zugleich in einem anderen Fenster geändert. Beide bleiben: hier geht es mit einem zweiten weiter.",
    notAJob: "es ist kein Auftrag darin",
    notANumber: (text) =>
      text.trim() === "" ? "Gib die abgelesene Zahl ein." : `„${text}“ ist keine Zahl.`,
    edges: "Die erste Zahl muss die kleinere sein.",
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
    limits: "Satz, Grenze, Höhe",
    rate: "Preis einer Stunde deiner Arbeit",
    rateHint: "in deinem Geld",
    handOver: "Preis des Abgebens",
    handOverHint: "was das Aufhören kostet: eine Werkstatt oder eine andere Maschine",
    altitude: "Höhe über dem Meer",
    altitudeHint: "dünne Luft senkt, was ein Manometer zeigt",
    metres: "m",
    feet: "ft",
    usual: (x) => `üblich: ${money(x)}`,
    start: "Diesen Auftrag beginnen",
    demo: "Musterauftrag öffnen",
    demoHint: "ein erfundener Mäher, um zu sehen, wie es geht",
    toBench: "Werkbank",
    carryOn: "Weiter",
    carryOnWith: (machine, steps) => `${machine}, ${things(steps)} bisher`,
    replaces: "Wird ein anderer begonnen oder geöffnet, bleibt dieser im Regal.",
    back: "Zurück zur Werkbank",
  },

  bar: {
    nav: "Diese Seite",
    copy: "Link kopieren",
    copied: "Link kopiert. Wer ihn öffnet, sieht diesen Auftrag, wie er steht.",
    refused: "Die Zwischenablage wurde verweigert. Kopiere den Link von hier:",
    linkField: "Link zu diesem Auftrag",
    tools: "Werkzeug",
    toolsLong: "Werkzeug, Satz, Grenze, Höhe",
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
    language: "Sprache",
    languages: { en: "English", de: "Deutsch" },
    units: "Einheiten der Ablesungen",
    metric: "metrisch",
    us: "US",
  },

  handOn: {
    open: "Weitergeben",
    title: "Diesen Auftrag weitergeben",
    lead: "Der Link enthält den ganzen Auftrag und öffnet ihn, wie er steht. Er sagt nichts über dich; er geht nirgendwohin, bis du ihn sendest.",
    note: "Notiz dazu",
    noteHint: "Reist im Link und wird als reiner Text gezeigt. Lass Namen und Adressen weg.",
    code: "Code zum Abfotografieren",
    codeOf: "Der Link als Code für ein anderes Telefon.",
    codeTooLong: "Der Auftrag ist zu lang für einen Code; nimm den Link.",
    text: "Text zum Einfügen",
    formats: { plain: "Einfach", markdown: "Markdown", bbcode: "BBCode" },
    format: "Auszeichnung",
    copyText: "Text kopieren",
    textCopied: "Text kopiert.",
    save: "Als Datei sichern",
    close: "Schließen",
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
    mendBy: (repair, m, parts) =>
      `${repair} (${minutes(m)}${parts > 0 ? `, Teile ${money(parts)}` : ""})`,
    leaves: "Zu beachten",
    next: "Nächster Schritt",
    season: "Bevor er weggestellt wird",
    seasonTexts: [
      "Für länger als etwa sechs Wochen: Tank und Vergaser leer fahren, oder mit frischem, stabilisiertem Kraftstoff füllen und fünf Minuten laufen lassen.",
      "Reinigen, Öl und Luftfilter ansehen, trocken stellen; kein Kraftstoff in einem Raum mit offener Flamme.",
      "Die Anleitung des Herstellers geht vor.",
    ],
    noReason: "Nicht geklärt.",
  },

  confirm: {
    title: "Was zu bestätigen ist",
    texts: [
      "Mit dem eigenen Bedienteil abstellen und sehen, dass Messer oder Werkzeug in der Zeit der Anleitung stillstehen.",
      "Noch einmal starten, kalt und einmal warm.",
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
    handOver: "Weiterzumachen kostet voraussichtlich mindestens so viel wie aufzuhören.",
    handOverName: "Hier aufhören: abgeben oder ersetzen",
  },

  notNow: {
    tool: (name) => `braucht Werkzeug, das nicht zur Hand ist: ${name}`,
    "not-fitted": () => "an dieser Maschine nicht verbaut",
    "try-first": () => "kommt nach einem einfachen Startversuch",
    "comes-after": (list) => `kommt nach: ${list}`,
    "held-off": (why) => why,
  },

  stillNotName: "instand gesetzt, versucht, läuft immer noch nicht",

  lesson: {
    open: "Im Unterricht",
    title: "Wie sich die Chancen bewegten",
    lead: "Eine Frage von Anfang bis Ende: was hielt die Maschine auf, als sie kam?",
    back: "Zurück zur Werkbank",
    full: "Ganzer Bildschirm",
    parts: "Seiten der Stunde",
    tabs: { odds: "Chancen", step: "Ein Schritt", graph: "Was woran hängt", suppose: "Was wäre wenn" },
    scale: "Skala",
    percent: "Prozent",
    logOdds: "Log-Chancen",
    decibans: "Deziban",
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
    chooseStep: "Schritt, um den es geht",
    repair:
      "Instandsetzen ändert die Maschine. Es ist kein Befund: die Chancen dessen, was sie zuerst aufhielt, bleiben.",
    relative:
      "Eine Zahl auf feiner Skala ist bei jeder Ursache selten: nur das Verhältnis der beiden zählt.",
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
    toOne: (x) => (x >= 1 ? `${read3(x)} zu 1` : `1 zu ${read3(1 / x)}`),
    times: (x) => `× ${read3(x)}`,
    weight: (db) => `Gewicht ${read3(db)} Deziban`,
    noOdds: "über alle Grenzen",
    graphLead: "Pfeile gehen von dem, was bewirkt, zu dem, was bewirkt wird. Chancen fließen in beide Richtungen.",
    acting: "das Schlimmste von allem, was wirkt",
    attempt: (outcome) => `Versuch: ${outcome}`,
    arrows: "Pfeile",
    arrow: (from, to) => `${from} zu ${to}`,
    supposeLead: "Was, wenn die Zahlen andere wären? Die Chancen werden neu gerechnet.",
    supposeFactor: "Chancen dafür unter den Maschinen, die gebracht werden",
    asAuthored: "wie in der Beschreibung",
    timesAsLikely: (x) => (x >= 1 ? `${read3(x)}-fach` : `1/${read3(1 / x)}`),
    told: "Vertrauen in Gehörtes",
    trust: (x) => percent(x),
    supposed: "dann",
    now: "wie es ist",
    reset: "Zurückstellen",
  },

  exercise: {
    begin: "Eine Übung beginnen",
    lead: "Eine Maschine mit verborgenem Fehler. Wähle Schritte gegen die Uhr der Arbeitsminuten; dann sieh, wie der Rat vorgegangen wäre.",
    number: "Nummer der Übung",
    badNumber: (largest) => `Die Nummer ist eine ganze von 1 bis ${number(largest)}.`,
    numberHint: "dieselbe Nummer ist für alle derselbe Fehler",
    start: "Übung beginnen",
    region: "Übung",
    clock: (m) => `Arbeitszeit: ${minutes(m)}`,
    pick: "Tun",
    pickHint: "Das Ergebnis wird gezogen; es lässt sich nicht wählen.",
    giveUp: "Aufgeben und nachsehen",
    see: "Nachsehen, was es war",
    was: "Was nicht stimmte",
    stopped: "hielt ihn auf",
    harmless: "da, aber nicht die Ursache",
    mended: "instand gesetzt",
    ran: "Er läuft.",
    notRan: "Er läuft noch nicht.",
    you: "Du",
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
    shared: "Link zu dieser Übung kopiert: wer ihn öffnet, bekommt denselben Fehler.",
    share: "Link zur Übung kopieren",
  },

  link: {
    broken: "Dieser Link lässt sich nicht öffnen",
    kept: "Dein Auftrag bleibt, wie er war.",
    arrived: "Mit diesem Link kam ein Auftrag",
    about: (steps) => `${things(steps)} bisher.`,
    question: (steps) => `Dein eigener Auftrag, ${things(steps)}, liegt noch auf der Werkbank.`,
    noExercise: "der Link gehört zu einer Übung, und ihre Nummer ist keine",
    note: "Notiz des Absenders",
    changed:
      "Die Beschreibung der Maschine hat sich geändert, seit der Link gemacht wurde: Chancen und Rat können anders sein, als der Absender sie sah.",
    strangers:
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
    why: "Warum",
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
    afterRepair: "Instand gesetzt: sieh, was der Motor dazu sagt.",
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

  others: {
    title: "Andere gute Schritte",
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
    about: (name) => `${name}:`,
    speaks: (cause, verdict) => `${cause}: ${verdict}`,
    unknownStep: (id) => `unbekannter Schritt „${id}“`,
  },

  changes: {
    started: "neuer Auftrag",
    demo: "Musterauftrag geöffnet",
    opened: "Auftrag aus einem Link geöffnet",
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
    tookText: (m, parts, cost) =>
      `Arbeit: ${minutes(m)}. Teile: ${money(parts)}. Zusammen: ${money(cost)}.`,
    reminders: "Bevor er hinausgeht",
    bypassed: (names) =>
      `Eine Umgehung war im Spiel (${names}): sieh nach, dass alles ist, wie es war, und dass die Bedienteile den Motor abstellen, wie sie sollen.`,
  },
};
