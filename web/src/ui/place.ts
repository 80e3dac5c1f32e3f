/** Finds the element in which the page is drawn. */
import { words } from "../words.ts";

/**
 * The element of the page. A built page holds its first screen there once for each language: the one in the
 * present language is drawn over, and the others are removed.
 */
export function place(): Element {
  const screens = [...document.querySelectorAll(".first-screen")];
  const mine =
    document.querySelector("#page") ?? screens.find((one) => one.getAttribute("lang") === words.tag);
  for (const other of screens) if (other !== mine) other.remove();
  const here = mine ?? document.body.appendChild(document.createElement("div"));
  here.id = "page";
  here.removeAttribute("lang");
  here.removeAttribute("class");
  delete document.documentElement.dataset["waits"];
  return here;
}
