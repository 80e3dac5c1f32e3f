// Before anything is drawn: which of the first screens in the page is the reader's, or none, as he has a job
// on the bench. What is chosen here is chosen again by src/store/prefs.ts and src/store/kept.ts; this much
// has to be known one round trip earlier.
(() => {
  const kept = (store, key) => {
    try {
      return JSON.parse(window[store].getItem(key));
    } catch {
      return null;
    }
  };
  const known = ["en", "de"];
  const wanted = [kept("localStorage", "halfsplit/prefs")?.language, ...navigator.languages.map((tag) => tag.slice(0, 2).toLowerCase())];
  const page = document.documentElement;
  page.lang = wanted.find((tag) => known.includes(tag)) ?? "en";
  const words = document.querySelector(`meta[name=words-${page.lang}]`);
  if (words) {
    const early = document.createElement("link");
    early.rel = "modulepreload";
    early.href = words.content;
    document.head.append(early);
  }
  const mine = kept("sessionStorage", "halfsplit/window");
  let last = null;
  try {
    last = localStorage.getItem("halfsplit/last") ?? localStorage.getItem("halfsplit/bench/1");
  } catch {
    // Refused: then nothing is kept.
  }
  if (mine ? mine.job !== null : last !== null) page.dataset.waits = "";
})();
