import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { words } from "../words.ts";
import { TroubleNote } from "./trouble-note.tsx";

/** A component that is fetched when it is first shown. */
export function lazily<P extends object>(fetched: () => Promise<ComponentType<P>>): ComponentType<P> {
  let known: ComponentType<P> | undefined;
  return function Lazily(props: P) {
    const [part, setPart] = useState(() => known);
    const [trouble, setTrouble] = useState<Trouble | null>(null);
    const get = (): void => {
      setTrouble(null);
      fetched().then(
        (found) => {
          known = found;
          setPart(() => found);
        },
        (thrown: unknown) => setTrouble(troubleOf(thrown)),
      );
    };
    useEffect(() => {
      if (known === undefined) get();
    }, []);
    const Part = part;
    if (Part) return <Part {...props} />;
    if (trouble === null) return <p role="status">{words.working}</p>;
    return (
      <TroubleNote trouble={trouble}>
        <button type="button" class="act" onClick={get}>
          {words.trouble.again}
        </button>
      </TroubleNote>
    );
  };
}
