import { useEffect, useRef, useState } from "preact/hooks";
import type { Arguments, Call, Value } from "../protocol.ts";
import { engine } from "../engine-client.ts";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";

interface Answered<C extends Call> {
  readonly value: Value<C> | null;
  readonly trouble: Trouble | null;
}

/** The engine's answer to a question that may change; the last answer stays until the next one. */
export function useAnswer<C extends Call>(call: C, ...args: Arguments<C>): Answered<C> {
  const [value, setValue] = useState<Value<C> | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const question = useRef(args);
  question.current = args;
  const text = JSON.stringify(args);
  useEffect(() => {
    let wanted = true;
    engine.call(call, ...question.current).then(
      (found) => {
        if (!wanted) return;
        setValue(() => found);
        setTrouble(null);
      },
      (thrown: unknown) => wanted && setTrouble(troubleOf(thrown)),
    );
    return () => {
      wanted = false;
    };
  }, [call, text]);
  return { value, trouble };
}
