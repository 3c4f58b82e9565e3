import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import { Field } from './field.tsx';
import { say } from './language.ts';

const mostCharacters = 1000;

/** An act that needs a reason: asked in words, confirmed by another button than the one that opened it. */
export function ReasonForm({
  label,
  confirm,
  sending,
  children,
  send,
  cancel,
}: {
  label: string;
  confirm: string;
  sending: boolean;
  /** Further fields, above the reason. */
  children?: ComponentChildren;
  send: (reason: string) => void;
  cancel: () => void;
}) {
  const [reason, setReason] = useState('');
  const [missing, setMissing] = useState(false);
  return (
    <form
      class="reason-form"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        const text = reason.trim();
        setMissing(text === '');
        if (text !== '') send(text);
      }}
    >
      {children}
      <Field label={label}>
        <textarea
          name="reason"
          value={reason}
          maxLength={mostCharacters}
          required
          onInput={(event) => setReason(event.currentTarget.value)}
        />
      </Field>
      {missing && (
        <p class="refused" role="alert">
          {say('act.reasonMissing')}
        </p>
      )}
      <div class="acts-row">
        <button type="button" onClick={cancel}>
          {say('act.cancel')}
        </button>
        <button class="main" disabled={sending}>
          {confirm}
        </button>
      </div>
    </form>
  );
}
