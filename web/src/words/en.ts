/**
 * Every word the page says of its own accord, in English; the shape of this is the shape of every
 * other language. Names and descriptions of steps, causes and results come from the machine.
 */
import type {
  CheckKind,
  Provenance,
  Outcome,
  Quantity,
  Objective,
  RequiredFinding,
  StepKind,
  Unit,
  VerdictKind,
} from "../engine/halfsplit_wasm.js";
import type { MachineLine } from "../machine-line.ts";
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

const known: Record<Provenance, string> = {
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
  thou: "thou",
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
  pressure: "pressure",
  length: "length",
  percent: "a share",
  resistance: "resistance",
  voltage: "voltage",
  mass: "weight",
  time: "time",
};

const chances: ChanceWords = {
  none: "no chance",
  certain: "certain",
  tiny: (of) => `less than 1 in ${of}`,
  huge: "as good as certain",
  about: (some, of) => `about ${some} in ${of}`,
};

const odds = (p: number): string => chance(p, chances);

const minutes = (m: number): string =>
  duration(m, {
    under: "under 1 min",
    minutes: (x) => `about ${x} min`,
    hours: (x) => `about ${x} h`,
  });

/** Minutes of work, and hours of waiting where there are any. */
const effort = (m: number, waitHours: number): string =>
  waitHours < SHORT_WAIT ? minutes(m) : `${minutes(m)} and ${fine(waitHours)} h of waiting`;

/** A weight with its sign. */
const signed = (x: number): string => {
  const size = fine(Math.abs(x));
  // What rounds to nothing has no sign.
  return size === fine(0) ? size : `${x < 0 ? "−" : "+"}${size}`;
};

const things = (n: number): string => (n === 1 ? "1 thing" : `${number(n)} things`);

export const en = {
  name: "halfsplit",
  tag: "en",
  minutes,
  effort,
  waiting: (hours: number) => `${fine(hours)} h of waiting`,
  money,
  odds,
  percent,
  count: number,
  oddsAndPercent: (p: number) => `${odds(p)}, ${percent(p)}`,
  outcomes,
  outcomeHints,
  kinds,
  checkKinds,
  known,
  verdicts,
  units,

  /** The list of machines; none where it is as in the descriptions, which are in English. */
  machines: null as readonly MachineLine[] | null,

  wait: "Getting the engine ready",
  working: "Working it out",

  trouble: {
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
    twice:
      "This job was changed in another window at the same time. Both are kept: this window goes on with a second one.",
    notAJob: "it does not hold a job",
    notANumber: (text: string) =>
      text.trim() === "" ? "Enter the number that was read off." : `“${text}” is not a number.`,
    edges: "The first number must be the smaller one.",
    cannotAll: "These cannot all be true:",
    linked: (what: string) => `What the link holds is no job. ${what}`,
    note: (letters: number, limit: number) =>
      `The note is ${number(letters)} characters long; ${number(limit)} are the limit.`,
    ours: (said: string) => `A mistake of ours (${said}). Your job is as you left it.`,
    /** Where in a job something is wrong. */
    places: {
      step: (n: number) => `Step ${n}`,
      /** A field inside a step, by its path in the file. */
      inStep: (n: number, field: string) => `Step ${n}, “${field}”`,
      fields: {
        machine: "Machine",
        kit: "Tools",
        rate_per_hour: "Price of an hour",
        wait_cost_per_hour: "Cost of an hour of waiting",
        hand_over_cost: "Price of handing it over",
        worth: "What it is worth",
        spare: "What is to be spared",
        altitude_m: "Height above the sea",
        settings: "Where it comes from",
        fitted: "What is fitted",
        told: "How it is known",
      },
    },
    /** Rules of jobs, by the engine's names for them. */
    rules: {
      "no-such": (what: string, id: string, nearest: string | null) =>
        `There is no ${what} “${id}”${nearest === null ? "." : `; was “${nearest}” meant?`}`,
      "another-machine": (job: string, description: string) =>
        `The job is about “${job}”, the description about “${description}”.`,
      "not-above-nothing": (given: number) => `${read(given)} is not above 0.`,
      height: (given: number, low: number, high: number) =>
        `${read(given)} m; heights from ${read(low)} to ${read(high)} m are supported.`,
      "no-number": (check: string) => `“${check}” gives no number; choose a result.`,
      "result-or-reading": (check: string) => `“${check}” needs either a result or a number.`,
      "no-temperature": () => "What this shows does not hang on temperature; leave that out.",
      temperature: (given: number, low: number, high: number) =>
        `${read(given)} °C; ${read(low)} to ${read(high)} °C are supported.`,
      "not-finite": () => "A number is needed.",
      "wrong-unit": (given: Unit, wanted: Quantity) => `${units[given]} is no unit of ${quantities[wanted]}.`,
      "off-scale": (given: string, own: string | undefined, scale: string, passed: string | undefined) =>
        `${given}${own === undefined ? "" : ` (${own})`} is off the scale, which goes from ${scale}. Read it again${passed === undefined ? "." : `, or enter “${passed}” if the gauge went past its end.`}`,
      "nothing-over": () => "Nothing lies over that. Read it again.",
      "one-way": () => "Give one of: is at, is over, is between.",
      tangled: () =>
        "The job is too large for an exact answer. If a repair was recorded several times, keep the last one.",
      share: (given: number) => `${read(given)} is not between 0 and 1.`,
      "no-step": (steps: number) => `The job has only ${things(steps)} done.`,
      "always-starts": () => "This machine nearly always starts: there is no exercise on it.",
    },
    /** What a job file or link should be and is not. */
    shapes: {
      "not-json": (line: number, column: number) =>
        `That is no job file: line ${number(line)}, character ${number(column)} is not JSON.`,
      "missing-field": (name: string) => `The field “${name}” is missing.`,
      "unknown-field": (name: string, all: readonly string[]) =>
        `There is no field “${name}” here; there are: ${all.join(", ")}.`,
      "unknown-name": (name: string, all: readonly string[]) => `“${name}” is none of: ${all.join(", ")}.`,
      "wrong-kind": (said: string) => `What stands there is not of the kind that belongs there (${said}).`,
    },
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
    told: "What the owner says",
    toldHint: "Hearsay: given less weight. What is left open can be asked later.",
    story: "How do you know what is entered?",
    stories: { seen: "Seen and done by me", told: "All of it told (phone, forum)" },
    fitted: "What is fitted",
    fittedHint: "What is certain. Whatever is left open counts as it is spread among such machines.",
    from: "Where it comes from",
    fromHint: "Some faults come with the season, others with who asks.",
    open: "left open",
    known: (some: number, of: number) => `${number(some)} of ${number(of)} known`,
    limits: "What to spare, limits, height",
    spare: "What is to be spared?",
    spared: { both: "Time and money", minutes: "Time", money: "Money" } satisfies Record<Objective, string>,
    rate: "Price of an hour of your work",
    rateHint: "in your money",
    wait: "Cost of an hour of waiting",
    waitHint: "while it charges, thaws or stands, and nobody works on it",
    handOver: "Price of handing it over",
    handOverHint: "what it costs to stop: a shop, or another machine",
    worth: "What it is worth once it runs",
    worthHint: "no more than that is put into it; left empty, it is not asked",
    altitude: "Height above the sea",
    altitudeHint: "thin air lowers what a gauge shows",
    metres: "m",
    feet: "ft",
    usual: (x: number) => `usual: ${money(x)}`,
    start: "Start this job",
    demo: "Open the demo job",
    demoHint: "a mower of our own invention, to see how it goes",
    carryOn: "Carry on",
    carryOnWith: (machine: string, steps: number) => `${machine}, ${things(steps)} done so far`,
    replaces: "Starting or opening another leaves this one on the shelf.",
  },

  bar: {
    nav: "This page",
    copy: "Copy link",
    copied: "Link copied. Whoever opens it sees this job as it stands.",
    refused: "The clipboard was refused. Copy the link from here:",
    linkField: "Link to this job",
    tools: "Tools",
    toolsLong: "Tools, what is fitted, limits",
    save: "Save",
    cancel: "Cancel",
    another: "Another job",
  },

  jump: { nav: "Jump to", result: "Result", odds: "Odds", found: "Found", other: "Instead" },

  shelf: {
    title: "On the shelf",
    line: (steps: number, changed: number) => `${things(steps)} done, ${date(changed)}`,
    exercise: "exercise",
    open: "Take it up",
    openWhat: (what: string) => `Take up: ${what}`,
    remove: "Throw away",
    removeWhat: (what: string) => `Throw away: ${what}`,
    removed: (what: string) => `Thrown away: ${what}.`,
    putBack: "Put it back",
    file: "Open a job file",
    fileBad: "That file cannot be opened",
  },

  update: {
    ready: "A newer version of this page is ready. Your jobs stay as they are.",
    take: "Take it now",
    later: "Later",
  },

  prefs: {
    title: "Language, units of readings",
    language: "Language",
    languages: { en: "English", de: "Deutsch" },
    units: "Units of readings",
    metric: "metric",
    us: "US",
  },

  handOn: {
    open: "Hand on",
    title: "Hand this job on",
    lead: "The link holds the whole job and reopens it as it stands. It says nothing about you; it goes nowhere until you send it.",
    note: "Add a note",
    noteHint: "Travels in the link and is shown as plain text. Leave out names and addresses.",
    code: "Code to scan",
    codeOf: "The link as a code to scan with another telephone.",
    codeTooLong: "The job is too long for a code; use the link.",
    text: "Text to paste",
    formats: { plain: "Plain", markdown: "Markdown", bbcode: "BBCode" },
    format: "Markup",
    copyText: "Copy text",
    textCopied: "Text copied.",
    save: "Save as a file",
    found: "Found so far",
    odds: "Most likely",
    next: "Next step",
    runs: "It runs.",
    link: "The job, to look at and to go on with",
    cause: (name: string, p: number) => `${name}: ${odds(p)} (${percent(p)})`,
  },

  sheet: {
    open: "Work sheet",
    title: "Work sheet",
    print: "Print",
    back: "Back to the bench",
    machine: "Machine",
    owner: "Owner",
    date: "Date",
    done: "What was found and done",
    what: "What",
    result: "Result",
    minutes: "Minutes",
    parts: "Parts",
    total: "Total",
    reason: "The reason",
    likeliest: "Most likely so far",
    there: "There, but not the reason",
    mend: "Still to mend",
    mendBy: (repair: string, m: number, waitHours: number, parts: number) =>
      `${repair} (${effort(m, waitHours)}${parts > 0 ? `, parts ${money(parts)}` : ""})`,
    leaves: "See to",
    next: "Next step",
    season: "For next season",
    likelier: (when: readonly string[]) => `likelier with “${when.join("” or “")}”`,
    seasonManual: "The maker's manual comes first.",
    noReason: "Not settled.",
  },

  confirm: {
    title: "What to confirm",
    texts: [
      "Stop it with its own control, and see that the blade or tool stops in the time the manual gives.",
      "Start it again warm, and cold the next day: a flood, or a coil that fails warm, can hide until then. Only then is the job closed.",
      "If the reason was the plug or a control, put it back as it was once and see it stop the engine again; then mend it again. Never do this with a key, a blade, a brake, fuel or wiring.",
      "Look for fuel weeping at the tank, the line and the carburettor.",
    ],
    mend: "What else to mend",
  },

  why: {
    saves: (x: number) => `Saves about ${money(x)} on average against repairing by the odds alone`,
    savesLittle: "Saves little on average",
    shows: (result: string, p: number, leader: string, then: number) =>
      `If it shows “${result}” (chance ${percent(p)}), ${leader} leads with ${percent(then)}.`,
    runsNow: (p: number) =>
      `It runs now with a chance of ${percent(p)}; and what it does says more than any tester.`,
    repaired: (p: number) => `It runs afterwards with a chance of ${percent(p)}.`,
    stillNot: (leader: string, p: number) => `If it still does not, ${leader} leads with ${percent(p)}.`,
    goOn: "Go on from there before the next try: more than one thing is likely to be wrong.",
    handOver: "Going on is expected to cost at least as much as stopping.",
    handOverName: "Stop here: hand it over or replace it",
    notWorthName: "Stop here: it is not worth repairing",
  },

  /** What the odds and the prices come to. */
  remarks: {
    enoughIsKnown: (saves: number | undefined) =>
      `Enough is known: nothing that could be looked at first is worth its minutes${
        saves === undefined ? "." : ` (it would cost about ${money(saves)} more on average).`
      }`,
    oneRepairCures: (causes: readonly string[]) => `It sees to all that is likely: ${causes.join("; ")}.`,
    betterStop: (saves: number) => `Stopping saves about ${money(saves)} on average against the best step.`,
    /** Numbers of steps whose outcomes do not count, so that the job can be computed. */
    leftOut: (steps: readonly number[]) =>
      `The job is too long for an exact answer with everything that was tried. Left out of the odds: ${
        steps.length === 1 ? "step" : "steps"
      } ${steps.join(", ")}.`,
  },

  stillToCome: {
    title: "What is still to come",
    work: "Work",
    wait: "Waiting",
    waitAtMost: (hours: number) => `on average; at most ${fine(hours)} h nine times in ten`,
    price: "Price, at most about",
    runs: "Runs in the end, at least about",
    atLeast: "If the cause were known",
    noLess: "on average; no advice can be expected to get below that",
    minutesAtMost: (m: number) => `on average; at most ${minutes(m)} nine times in ten`,
    priceAtMost: (x: number) => `on average; at most ${money(x)} nine times in ten`,
    hint: "By the plan behind the advice, parts and handing over included in the price. The advice is worked out anew after every step and usually does better.",
    sampled: (p: number) =>
      `${percent(p)} of the odds lie with several causes at once that were not looked at one by one: samples stand for them.`,
  },

  lookingAhead: {
    looking: "Looking further ahead",
    enough: "That is enough",
    goOn: "Look further",
    before: (step: string) => `Seen further ahead, this comes before: ${step}.`,
    looked: (looks: number, brokenOff: boolean) =>
      brokenOff
        ? `Broken off after ${looks} of the looks further ahead.`
        : `The steps that lead were followed further ahead: ${looks} looks in all.`,
  },

  notNow: {
    tool: (name: string) => `needs a tool that is not at hand: ${name}`,
    notFitted: "not fitted to this machine",
    tryFirst: "comes after a plain try to start",
    comesAfter: (findings: readonly RequiredFinding[]) => `comes after: ${required(findings, "or")}`,
    waits: (why: string) => `waits: ${why}`,
  },

  waits: {
    title: "What must wait",
    thisStep: "This step must wait",
    endsWait: "This comes first: other steps wait for it.",
    first: (n: number): string => (n === 1 ? "Do this first:" : "Do one of these first:"),
    show: (n: number): string => (n === 1 ? "1 step waits" : `${number(n)} steps wait`),
    doneAnyway: "If one of them was done all the same, choose it and record what came out.",
    thisDoneAnyway: "If it was done all the same, record what came out.",
  },

  stillNotName: "repaired, tried again, still does not run",

  lesson: {
    open: "In class",
    title: "How the odds moved",
    lead: "One question from beginning to end: what stopped the machine when it came in?",
    back: "Back to the bench",
    full: "Full screen",
    parts: "Pages of the lesson",
    tabs: { odds: "Odds", step: "One step", why: "Why", graph: "What hangs on what", suppose: "What if" },
    scale: "Scale",
    percent: "Percent",
    logOdds: "Log-odds",
    chart: "Odds of the likeliest causes over the steps",
    table: "The same as a table",
    cause: "Cause",
    before: "At first",
    step: (n: number) => `Step ${n}`,
    earlier: "Earlier step",
    later: "Later step",
    ofSteps: (n: number, all: number) => `Step ${n} of ${all}`,
    noSteps: "Nothing has been done yet: there is nothing to look at.",
    chooseCause: "Cause to look at",
    repair: "A repair changes the machine. It is no finding: the odds of what stopped it at first stay.",
    relative: "A number on a fine scale is rare under every cause: only the proportion of the two counts.",
    replaces: (n: number) => `It takes the place of step ${n}: the odds before are those without that one.`,
    of: (all: number) => `Of ${number(all)} machines like this, with all that was known before`,
    have: (n: number, name: string) => `${number(n)} have it: ${name}`,
    haveNot: (n: number) => `${number(n)} do not`,
    show: (n: number) => `${number(n)} of them show this`,
    so: (some: number, all: number, p: number) =>
      `So of ${number(all)} machines that show this, ${number(some)} have it: ${percent(p)}.`,
    oddsForm: "The same as odds times a factor",
    prior: "odds before",
    factor: "factor",
    posterior: "odds after",
    toOne: (x: number) => (x >= 1 ? `${readShort(x)} to 1` : `1 to ${readShort(1 / x)}`),
    times: (x: number) => `× ${readShort(x)}`,
    weight: (db: number) => `weight ${readShort(db)} decibans`,
    noOdds: "beyond all bounds",
    graphLead: "Arrows go from what makes to what is made. Odds flow both ways.",
    acting: "the worst of all that acts",
    attempt: (outcome: string) => `Try: ${outcome}`,
    arrows: "Arrows",
    arrow: (from: string, to: string) => `${from} to ${to}`,
    supposeLead: "What if the figures were others? The odds are worked out anew.",
    supposeFactor: "Odds of it among machines that come in",
    asAuthored: "as in the description",
    timesAsLikely: (x: number) => (x >= 1 ? `${readShort(x)} times` : `1/${readShort(1 / x)}`),
    told: "Trust in what was told",
    trust: (x: number) => percent(x),
    supposed: "then",
    now: "as it is",
    reset: "Put back",
  },

  exercise: {
    begin: "Begin an exercise",
    lead: "A machine with a hidden fault. Pick steps against the clock of bench minutes; then see how the advice would have gone about it.",
    number: "Number of the exercise",
    badNumber: (largest: number) => `The number is a whole one from 1 to ${number(largest)}.`,
    numberHint: "the same number is the same fault for everybody",
    start: "Start the exercise",
    region: "Exercise",
    clock: (m: number, waitHours: number) => `Bench time: ${effort(m, waitHours)}`,
    pick: "Do it",
    pickHint: "The result is drawn; it cannot be chosen.",
    giveUp: "Give up and see",
    see: "See what it was",
    was: "What was wrong",
    stopped: "stopped it",
    harmless: "there, but not the reason",
    mended: "mended",
    ran: "You got it running.",
    you: "You",
    advice: "The advice",
    compare: "Compared",
    steps: "Steps",
    time: "Bench minutes",
    cost: "Price",
    runs: "Runs",
    yes: "yes",
    no: "no",
    hideAdvice: "The advice is hidden in an exercise.",
    showAdvice: "Show the advice",
  },

  link: {
    broken: "That link cannot be opened",
    kept: "Your job is left as it was.",
    arrived: "A job came with this link",
    about: (steps: number) => `${things(steps)} done so far.`,
    question: (steps: number) => `Your own job, with ${things(steps)} done, is still on the bench.`,
    version: (now: string, first: string) =>
      `the link is of a version that this program does not know (it should begin with "${now}" or "${first}")`,
    characters: "the link is damaged: it holds characters that do not belong there, or its end is missing",
    packing: "the link is damaged: what it holds cannot be unpacked",
    noExercise: "the link is of an exercise, and its number is none",
    note: "Note of the sender",
    changed:
      "The machine's description has changed since the link was made: odds and advice may differ from what the sender saw.",
    unknownSteps: "These steps mean nothing to the description here. They stay in the list, to be put right:",
    stranger: (step: number, why: string) => `Step ${step}: ${why}`,
    open: "Open the linked job",
    keep: "Keep mine",
  },

  step: {
    attempt: "Try to start it",
    region: "Next step",
    chosenRegion: "Step you chose",
    back: "Back to the advised step",
    how: "How",
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
      value: (x: number, unit: Unit) => `${read(x)} ${units[unit]}`,
      over: (x: number, unit: Unit) => `over ${read(x)} ${units[unit]}`,
      between: (a: number, b: number, unit: Unit) => `${read(a)} to ${read(b)} ${units[unit]}`,
    },
  },

  causes: {
    title: "What is stopping it",
    titleAfter: "What was stopping it",
    readings: "What the readings mean",
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

  reasons: {
    numbered: (n: number, what: string) => `${number(n)}. ${what}`,
    title: "Why",
    open: "Why?",
    openFromStep: "Why, in full",
    close: "Close the reasons",
    says: {
      leads: (name: string, p: number) => `Likeliest: ${name}, ${odds(p)}.`,
      mostFor: (step: string, weight: number) => `Most for it: ${step} (${signed(weight)}).`,
      mostAgainst: (step: string, weight: number) => `Most against it: ${step} (${signed(weight)}).`,
      conflicting: "The findings do not go together: one may be wrong, or the cause is not on the list.",
      wrong: (step: string) => `It would be resolved if this were wrong: ${step}.`,
      unusual: (name: string) => `The findings seldom come together, but this explains it: ${name}.`,
      overturn: (name: string, p: number) => `Most likely to change that: ${name}, ${percent(p)}.`,
    },
    weights: "What each finding weighs",
    weightsHint:
      "In decibans: 3 is twice the odds, 10 is ten times, 20 a hundred; below 0 it speaks against.",
    weightsOf: (name: string) => `Weight of each step on: ${name}`,
    cause: "On which cause",
    step: "Step",
    inOrder: "As it came in",
    leftOut: "Given all the others",
    decibans: (x: number) => signed(x),
    beyond: "no number",
    seldom: "Seldom found together",
    pair: (a: string, b: string, times: number) => `${a}; ${b}: ${fine(times)} times rarer than by chance`,
    merely: "Not normal, and not the reason",
    overturn: "What would put another cause in the lead",
    after: (result: string, p: number, leader: string, after: number) =>
      `${result} (chance ${percent(p)}): then ${leader}, ${percent(after)}`,
    numbers: "What hangs on which number",
    numbersHint:
      "Each number by itself, its odds halved and doubled; the others of its row keep their proportions. Readings' laws move by half a spread.",
    numbersOf: (name: string, p: number) => `Chance of: ${name}; now ${percent(p)}`,
    number: "Number",
    low: "Halved",
    high: "Doubled",
    now: (value: string) => `(now ${value})`,
    proved: "What was found settles it: no single number moves that.",
    stands: "Would the advice stay?",
    leaderStays: (n: number, of: number) =>
      n === 0
        ? `The same cause leads with each of ${number(of)} numbers halved and doubled.`
        : `Another cause leads with ${number(n)} of ${number(of)} numbers halved or doubled.`,
    overtaken: (rivals: readonly string[]) =>
      rivals.length === 0
        ? "It still leads if it is three times rarer and any one rival three times commoner."
        : `If it is three times rarer, and they three times commoner, it is overtaken by: ${rivals.join(", ")}.`,
    adviceStays: (n: number, of: number) =>
      n === 0
        ? `The same step is advised with each of ${number(of)} numbers halved and doubled.`
        : `Another step is advised with ${number(n)} of ${number(of)} numbers halved or doubled:`,
    within: (figure: string, low: string, high: string, now: string) =>
      `${figure}: the advice stays from ${low} to ${high}; now ${now}`,
    otherwise: "otherwise",
    or: " or ",
    acts: {
      harmless: "nothing that acts",
      dies: "a fault that lets it die",
      tries: "a fault that lets it cough",
      nothing: "a fault that stops it",
    },
    figures: {
      rate: (of: string) => `How common: ${of}`,
      share: (of: string, state: string) => `How common: ${of}: ${state}`,
      harmless: (of: string) => `How often it does no harm: ${of}`,
      severity: (of: string, ends: string) => `How often it acts like this: ${of}: ${ends}`,
      spoils: (of: string, level: string, when: string) => `${of}: ${level}, by: ${when}`,
      finding: (of: string, result: string, when: string) => `${of}: ${result}, if: ${when}`,
      middle: (of: string, when: string) => `${of}: middle of the readings, if: ${when}`,
      spread: (of: string, when: string) => `${of}: spread of the readings, if: ${when}`,
      ends: (of: string, ends: string, worst: string) => `${of}: ${ends}, with ${worst}`,
      takes: (of: string) => `That the repair takes: ${of}`,
      trust: (of: string) => `Trust in what was found: ${of}`,
    },
  },

  others: {
    title: "Other good steps",
    everything: (n: number) => `Show everything that can be done (${number(n)})`,
    fewer: "Show the best only",
    setAside: "Not worth doing now",
    setAsideHint:
      "Not worth doing now: it was ruled out, tells nothing new, or costs more than it can save. It can be recorded all the same.",
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
    allTold: "The whole story is told, unless a finding says otherwise.",
    coming: (what: string) => `Recorded: ${what}. Working it out.`,
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
    outweighed: "Does not count: an earlier finding is known better.",
    speaks: (cause: string, verdict: string) => `${cause}: ${verdict}`,
    unknownStep: (id: string) => `unknown step “${id}”`,
  },

  changes: {
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
    tookText: (m: number, waitHours: number, parts: number, cost: number) =>
      `Work: ${effort(m, waitHours)}. Parts: ${money(parts)}. In all: ${money(cost)}.`,
    reminders: "Before it goes out",
    bypassed: (names: string) =>
      `A bypass was tried (${names}): see that everything is back as it was, and that the controls stop the engine as they should.`,
  },
};

/** What a language must say. */
export type Words = typeof en;
