import type { ComponentChildren, InputHTMLAttributes } from 'preact';
import { useEffect, useRef } from 'preact/hooks';

/** Something to fill in, under its name. */
export function Field({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    <label class="field">
      <span>{label}</span>
      {children}
    </label>
  );
}

/** A line to fill in: what is typed is told at once, or read by its form when that is sent. */
export function TextField({
  label,
  focus = false,
  set,
  ...input
}: {
  label: string;
  focus?: boolean;
  set?: (text: string) => void;
} & InputHTMLAttributes) {
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    if (focus) field.current?.focus();
  }, [focus]);
  return (
    <Field label={label}>
      <input
        ref={field}
        maxLength={200}
        {...input}
        onInput={(event) => set?.(event.currentTarget.value)}
      />
    </Field>
  );
}
