import { useEffect, useRef } from 'preact/hooks';
import { say } from '../language.ts';
import { answerScan, scanAnywhere } from '../scan/scan-answer.tsx';
import { listenToScans } from '../scan/scanner.ts';
import { openTyped } from './found.ts';

/** One field on every screen: whatever bears a name, typed or scanned, leads to its page. */
export function SearchField() {
  const field = useRef<HTMLInputElement>(null);
  const letGo = useRef<(() => void) | null>(null);
  const leave = () => {
    letGo.current?.();
    letGo.current = null;
  };
  useEffect(() => leave, []);
  return (
    <form
      class="search"
      role="search"
      onSubmit={(event) => {
        event.preventDefault();
        const text = field.current?.value.trim() ?? '';
        if (text === '') return;
        openTyped(text).then(
          () => {
            if (field.current !== null) field.current.value = '';
          },
          (error: Error) => answerScan(error.message),
        );
      }}
    >
      <input
        ref={field}
        type="search"
        enterkeyhint="search"
        autocomplete="off"
        spellcheck={false}
        maxLength={120}
        aria-label={say('search.label')}
        placeholder={say('search.field')}
        onFocus={() => {
          // A scan into this field is looked for, whatever the screen would do with it.
          letGo.current ??= listenToScans(scanAnywhere);
        }}
        onBlur={leave}
      />
    </form>
  );
}
