import { useId } from "preact/hooks";

interface Props<T> {
  readonly legend: string;
  readonly options: readonly { readonly value: T; readonly name: string }[];
  readonly value: T;
  readonly onChange: (value: T) => void;
  readonly columns: 2 | 3;
}

/** A few stamps side by side, one of them inked. */
export function StampChoice<T extends string | null>(props: Props<T>) {
  const { legend, options, value, onChange, columns } = props;
  const name = useId();
  return (
    <fieldset class={`stamp-choice in-${columns}`}>
      <legend>{legend}</legend>
      {options.map((option) => (
        <label key={option.name} class="stamp-option">
          <input
            type="radio"
            name={name}
            value={option.value ?? ""}
            checked={option.value === value}
            onChange={() => onChange(option.value)}
          />
          <span>{option.name}</span>
        </label>
      ))}
    </fieldset>
  );
}
