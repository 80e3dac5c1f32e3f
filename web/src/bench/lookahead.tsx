import { dispatch, isSettled, lookedAhead } from "../store/store.ts";
import { words } from "../words.ts";

const lookAhead = (on: boolean): void => dispatch({ type: "look-ahead", on });

/** The progress of the lookahead, with a button to stop it or to continue it. */
export function Lookahead() {
  const ahead = lookedAhead.value;
  if (ahead === null || ahead.of === 0) return null;
  const say = words.lookingAhead;
  const brokenOff = ahead.done < ahead.of;
  return (
    <div class="looking-ahead" data-testid="looking-ahead" data-settled={isSettled.value}>
      {isSettled.value ? (
        <>
          <p class="quiet">{say.looked(ahead.done, brokenOff)}</p>
          {brokenOff && (
            <button type="button" class="plain" onClick={() => lookAhead(true)}>
              {say.goOn}
            </button>
          )}
        </>
      ) : (
        <>
          <label>
            <span class="quiet">{say.looking}</span>
            <progress value={ahead.done} max={ahead.of} />
          </label>
          <button type="button" class="plain" onClick={() => lookAhead(false)}>
            {say.enough}
          </button>
        </>
      )}
    </div>
  );
}
