import type { ComponentChildren } from 'preact';
import { say } from '../language.ts';
import { number } from '../phrase.ts';
import { farther, moved, nearer, typed, type Whole } from './span.ts';
import type { Span } from './plot.ts';

interface SpanFieldsProps {
  whole: Whole;
  span: Span;
  cursorMs: number;
  setSpan: (span: Span) => void;
}

/** One end of what is seen, as minutes of the load. */
function MinuteField({
  name,
  value,
  change,
}: {
  name: 'from' | 'to';
  value: number;
  change: (min: number) => void;
}) {
  return (
    <label class="minute-field">
      <span>{say(`picture.span.${name}`)}</span>
      <input
        type="number"
        name={`span-${name}`}
        step="any"
        min="0"
        value={number(value, 1).replace(',', '.')}
        onChange={(event) => change(event.currentTarget.valueAsNumber)}
      />
    </label>
  );
}

/** What of the load's time is seen: two fields, and buttons for nearer, farther, earlier, later. */
export function SpanFields({ whole, span, cursorMs, setSpan }: SpanFieldsProps) {
  const { fromMs, toMs } = span ?? whole;
  const minuteOf = (ms: number): number => (ms - whole.fromMs) / 60_000;
  const button = (text: ComponentChildren, name: string, next: Span, isOff = false) => (
    <button type="button" aria-label={name} disabled={isOff} onClick={() => setSpan(next)}>
      {text}
    </button>
  );
  return (
    <fieldset class="span-fields">
      <legend class="spoken">{say('picture.span')}</legend>
      {button('+', say('picture.span.nearer'), nearer(whole, span, cursorMs))}
      {button('−', say('picture.span.farther'), farther(whole, span, cursorMs), span === null)}
      {button('◂', say('picture.span.earlier'), moved(whole, span, -1), span === null)}
      {button('▸', say('picture.span.later'), moved(whole, span, 1), span === null)}
      {button(say('picture.span.whole'), say('picture.span.wholeName'), null, span === null)}
      <MinuteField
        name="from"
        value={minuteOf(fromMs)}
        change={(min) => setSpan(typed(whole, span, min, minuteOf(toMs)))}
      />
      <MinuteField
        name="to"
        value={minuteOf(toMs)}
        change={(min) => setSpan(typed(whole, span, minuteOf(fromMs), min))}
      />
    </fieldset>
  );
}
