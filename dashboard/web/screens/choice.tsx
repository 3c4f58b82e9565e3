/** Large buttons to choose one of, or many: for gloves, and for the keyboard. */
export function Choice<T extends string | number>({
  legend,
  name,
  options,
  value,
  choose,
  many = false,
}: {
  legend: string;
  name: string;
  options: { value: T; text: string }[];
  value: T[];
  choose: (value: T) => void;
  many?: boolean;
}) {
  return (
    <fieldset>
      <legend>{legend}</legend>
      <div class="choices">
        {options.map((option) => (
          <label key={option.value}>
            <input
              type={many ? 'checkbox' : 'radio'}
              name={name}
              checked={value.includes(option.value)}
              onChange={() => choose(option.value)}
            />
            <span class="id">{option.text}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}
