import { correction, generate } from "lean-qr";
import { words } from "../words.ts";

/** Light modules around a code (ISO/IEC 18004: four). */
const QUIET = 4;

/** A text as a QR code. It is black on white in the dark theme too, because cameras need that. */
export function Code({ text }: { readonly text: string }) {
  const code = codeOf(text);
  if (code === null) return <p>{words.handOn.codeTooLong}</p>;
  let path = "";
  for (let y = 0; y < code.size; y += 1) {
    for (let x = 0; x < code.size; x += 1) {
      if (code.get(x, y)) path += `M${x} ${y}h1v1h-1z`;
    }
  }
  const side = code.size + 2 * QUIET;
  return (
    <svg
      class="code"
      role="img"
      aria-label={words.handOn.codeOf}
      viewBox={`${-QUIET} ${-QUIET} ${side} ${side}`}
      shape-rendering="crispEdges"
      data-size={code.size}
    >
      <rect x={-QUIET} y={-QUIET} width={side} height={side} fill="#fff" />
      <path d={path} fill="#000" />
    </svg>
  );
}

function codeOf(text: string) {
  try {
    return generate(text, { minCorrectionLevel: correction.L });
  } catch {
    return null;
  }
}
