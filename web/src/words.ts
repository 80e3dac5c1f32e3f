/**
 * Every word the page says of its own accord. Names and descriptions of steps, causes and results
 * come from the machine and the engine. To translate the page, translate this file and `say.ts`, which
 * puts numbers into words.
 */
import type {
  CheckKind,
  Known,
  Outcome,
  StepKind,
  Unit,
  VerdictKind,
} from "./engine/halfsplit_wasm.js";
import { percent } from "./odds.ts";
import { minutes, money, odds, read } from "./say.ts";

/** Named as the engine names them. */
const outcomes: Record<Outcome, string> = {
  runs: "Starts and keeps running",
  dies: "Starts and dies",
  tries: "Coughs or pops",
  nothing: "Nothing at all",
};

const outcomeHints: Record<Outcome, string> = {
  runs: "still running at 30 s",
  dies: "stops within about 10 s",
  tries: "a firing or two, no more",
  nothing: "not one cough, or it does not turn",
};

const kinds: Record<StepKind, string> = {
  check: "Check",
  attempt: "Try",
  bypass: "Bypass start",
  repair: "Repair",
  "hand-over": "Stop",
};

const checkKinds: Record<CheckKind, string> = {
  asked: "Ask",
  "looked-at": "Look",
  smelt: "Smell",
  tester: "Test",
  gauge: "Measure",
};

const known: Record<Known, string> = {
  seen: "Seen",
  told: "Told",
  unsure: "Not sure",
};

const verdicts: Record<VerdictKind, string> = {
  "the-reason": "there, and the reason",
  "there-not-the-reason": "there, but not the reason",
  "there-undecided": "there; whether it is the reason is open",
  "not-there": "most likely not there after all",
};

/** How units are written. A new unit of the engine is a compile error here. */
const units: Record<Unit, string> = {
  psi: "psi",
  kpa: "kPa",
  bar: "bar",
  mm: "mm",
  in: "in",
  percent: "%",
};

export const words = {
  name: "halfsplit",
  minutes,
  money,
  odds,
  percent,
  oddsAndPercent: (p: number) => `${odds(p)}, ${percent(p)}`,
  outcomes,
  outcomeHints,
  kinds,
  checkKinds,
  known,
  verdicts,
  units,

  wait: "Getting the engine ready",
  working: "Working it out",

  trouble: {
    /** The engine says where in the job file it stumbled; on the page that has other names. */
    place: (message: string) =>
      message
        .replace(/^at steps\[(\d+)\][^:]*: /, (_, n: string) => `Step ${Number(n) + 1}: `)
        .replace(/^at rate_per_hour: /, "Price of an hour: ")
        .replace(/^at hand_over_cost: /, "Price of handing it over: ")
        .replace(/^at altitude_m: /, "Height above the sea: ")
        .replace(/^at kit[^:]*: /, "Tools: "),
    title: "That did not work",
    crash: (why: string) =>
      `The engine stopped: ${why}. Your job is as you left it, and the engine starts afresh.`,
    language: "another language was chosen",
    silent: "it gave no answer in a minute",
    notLoaded: "it could not be loaded",
    unknown: "something broke on the page",
    again: "Try again",
    dismiss: "All right",
    impossible: "The findings do not fit together",
    job: "This job cannot be worked out",
    jobHint: "Nothing is lost. Undo the last one, or change or remove any finding in the list.",
    notKept: (why: string) =>
      `This browser does not keep the job (${why}). Copy the link before you close the page.`,
    storedBroken: (why: string) =>
      `The job kept in this browser could not be read (${why}). It was put aside, not deleted.`,
    notAJob: "it does not hold a job",
    notANumber: (text: string) =>
      text.trim() === "" ? "Enter the number that was read off." : `“${text}” is not a number.`,
    edges: "The first number must be the smaller one.",
  },

  intake: {
    title: "What is on the bench?",
    lead: "A small engine that will not start: one next step at a time, until it runs. All of it happens in this page; nothing is sent anywhere.",
    machine: "Machine",
    tried: "At the last proper try, a few full pulls",
    notTried: "Not tried yet",
    tools: "Tools at hand",
    toolsHint: "Only steps you have the tools for will be offered. You can change this later.",
    usualTools: (atHand: number, of: number) => `The usual tools: ${atHand} of ${of} at hand`,
    all: "All of them",
    none: "None",
    limits: "Rate, limit, height",
    rate: "Price of an hour of your work",
    rateHint: "in your money",
    handOver: "Price of handing it over",
    handOverHint: "what it costs to stop: a shop, or another machine",
    altitude: "Height above the sea",
    altitudeHint: "thin air lowers what a gauge shows",
    metres: "m",
    feet: "ft",
    usual: (x: number) => `usual: ${money(x)}`,
    start: "Start this job",
    demo: "Open the demo job",
    demoHint: "a mower of our own invention, to see how it goes",
    carryOn: "Carry on",
    carryOnWith: (machine: string, steps: number) =>
      `${machine}, ${steps === 1 ? "1 thing" : `${steps} things`} done so far`,
    replaces: "Starting or opening another puts this one aside; Undo brings it back.",
    back: "Back to the bench",
  },

  bar: {
    nav: "This page",
    copy: "Copy link",
    copied: "Link copied. Whoever opens it sees this job as it stands.",
    refused: "The clipboard was refused. Copy the link from here:",
    linkField: "Link to this job",
    tools: "Tools",
    toolsLong: "Tools, rate, limit, height",
    save: "Save",
    cancel: "Cancel",
    another: "Another job",
  },

  jump: { nav: "Jump to", result: "Result", odds: "Odds", found: "Found", other: "Instead" },

  link: {
    broken: "That link cannot be opened",
    kept: "Your job is left as it was.",
    arrived: "A job came with this link",
    about: (steps: number) => `${steps === 1 ? "1 thing" : `${steps} things`} done so far.`,
    question: (steps: number) =>
      `Your own job, with ${steps === 1 ? "1 thing" : `${steps} things`} done, is still on the bench.`,
    open: "Open the linked job",
    keep: "Keep mine",
  },

  step: {
    attempt: "Try to start it",
    region: "Next step",
    chosenRegion: "Step you chose",
    back: "Back to the advised step",
    how: "How",
    why: "Why",
    tools: "Tools",
    setup: "First",
    setupOne: (name: string, m: number) => `${name} (${minutes(m)})`,
    caution: "Caution",
    defer: "The maker's manual, local rules and licensed practice come first.",
    note: "Note",
    notAdvised: (why: string) => `Not advised now: ${why}`,
    price: (x: number, parts = 0) =>
      parts > 0 ? `price ${money(x)}, parts ${money(parts)} of it` : `price ${money(x)}`,
    whatCameOut: "What came out?",
    whatHappened: "What did the engine do?",
    thenLikeliest: (name: string, p: number) => `then likeliest: ${name}, ${odds(p)}`,
    thenRuns: "then it runs",
    wouldLead: "What it would lead to",
    done: "Done",
    doneHint: "then try to start",
    afterRepair: "The repair is done: see what the engine says to it.",
    howKnown: "How is it known?",
    handOver: "Nothing to record. The other steps stay open to you.",
    repeat: "Done before; a new result takes the place of the old one unless something changed since.",
  },

  reading: {
    title: "Number read off",
    mode: "It",
    modes: { value: "is at", over: "is over", between: "is between" },
    value: "Reading",
    low: "Lowest",
    high: "Highest",
    unit: "Unit",
    record: "Record the reading",
    bands: "Or roughly",
    say: {
      value: (x: number, unit: Unit) => `${read.format(x)} ${units[unit]}`,
      over: (x: number, unit: Unit) => `over ${read.format(x)} ${units[unit]}`,
      between: (a: number, b: number, unit: Unit) =>
        `${read.format(a)} to ${read.format(b)} ${units[unit]}`,
    },
  },

  causes: {
    title: "What is stopping it",
    titleAfter: "What was stopping it",
    likeliest: (name: string, p: number) => `Likeliest: ${name}, ${odds(p)}`,
    was: (p: number) => `before the last step ${odds(p)}`,
    wasShort: (p: number) => `was ${percent(p)}`,
    nextIs: (name: string) => `next: ${name}.`,
    nothingStops: (p: number) => `Nothing stops it: ${odds(p)}, ${percent(p)}`,
    reason: "the reason",
    there: "there, but not the reason",
    before: "before the last step",
    alsoThere: (p: number) => `there, but not the reason: ${percent(p)}`,
    showAll: (n: number) => `Show all ${n}`,
    showFew: "Show the likeliest",
    repaired: "repaired",
  },

  others: {
    title: "Other good steps",
    something: "Do something else",
    search: "Find a check, bypass, repair or try",
    nothing: "Nothing of that name.",
    groups: {
      attempt: "Try to start",
      bypass: "Bypass starts",
      check: "Checks",
      repair: "Repairs",
    },
  },

  found: {
    title: "What was found",
    none: "Nothing yet.",
    undo: "Undo",
    redo: "Redo",
    undoWhat: (what: string) => `Undo: ${what}`,
    redoWhat: (what: string) => `Redo: ${what}`,
    change: "Change",
    changeWhat: (what: string) => `Change: ${what}`,
    save: "Save the change",
    remove: "Remove",
    cancel: "Leave it",
    result: "Result",
    mended: "Repaired",
    tried: "Tried to start",
    about: (name: string) => `${name}:`,
    speaks: (cause: string, verdict: string) => `${cause}: ${verdict}`,
    unknownStep: (id: string) => `unknown step “${id}”`,
  },

  changes: {
    started: "new job",
    demo: "demo job opened",
    opened: "linked job opened",
    settings: "tools and prices",
    changed: (what: string) => `change of ${what}`,
    removed: (what: string) => `removal of ${what}`,
  },

  closing: {
    title: "It runs",
    reason: (name: string) => `The reason: ${name}`,
    reasonOpen: "The reason is not settled. Likeliest:",
    noReason: "Nothing that was listed stood out as the reason.",
    there: "There, but not the reason",
    mended: "mended",
    still: "still there",
    took: "What it took",
    tookText: (m: number, parts: number, cost: number) =>
      `Work: ${minutes(m)}. Parts: ${money(parts)}. In all: ${money(cost)}.`,
    reminders: "Before it goes out",
    bypassed: (names: string) =>
      `A bypass was tried (${names}): see that everything is back as it was, and that the controls stop the engine as they should.`,
  },
} as const;
