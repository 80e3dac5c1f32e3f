/**
 * Packs and unpacks the content of a link: the version, then deflated text in base64url without padding
 * (RFC 1951; RFC 4648, section 5). The browser does the deflating; the text is the engine's.
 */
import { words } from "../words.ts";
import { ownTrouble } from "../trouble.ts";

const VERSION = "2.";
const FIRST_VERSION = "1.";
/** Largest length of the text. No real job is longer, and a hostile link cannot fill the memory. */
const LONGEST = 2 ** 20;

export async function pack(text: string): Promise<string> {
  const stream = new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
  const base64 = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  return VERSION + base64.replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

function bytesOf(base64url: string): Uint8Array<ArrayBuffer> {
  if (!/^[\w-]*$/.test(base64url)) throw ownTrouble(words.link.characters);
  try {
    const base64 = base64url.replaceAll("-", "+").replaceAll("_", "/");
    return Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
  } catch {
    throw ownTrouble(words.link.characters);
  }
}

async function inflate(bytes: Uint8Array<ArrayBuffer>): Promise<string> {
  const reader = new Blob([bytes])
    .stream()
    .pipeThrough(new DecompressionStream("deflate-raw"))
    .pipeThrough(new TextDecoderStream("utf-8", { fatal: true }))
    .getReader();
  let text = "";
  for (;;) {
    // The pieces of a stream come one after another.
    // oxlint-disable-next-line no-await-in-loop
    const { done, value } = await reader.read();
    if (done) return text;
    text += value;
    if (text.length > LONGEST) {
      // oxlint-disable-next-line no-await-in-loop
      await reader.cancel();
      throw new RangeError("too long");
    }
  }
}

/** The text in a link, and whether it is of the first version. Throws a `Trouble`. */
export async function unpack(link: string): Promise<{ text: string; first: boolean }> {
  const version = [VERSION, FIRST_VERSION].find((one) => link.startsWith(one));
  if (version === undefined) throw ownTrouble(words.link.version(VERSION, FIRST_VERSION));
  const bytes = bytesOf(link.slice(version.length));
  const text = await inflate(bytes).catch(() => {
    throw ownTrouble(words.link.packing);
  });
  return { text, first: version === FIRST_VERSION };
}
