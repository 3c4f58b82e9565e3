import type { LotLoad } from '@setwell/shared-models/record/lot-file';
import type { Deviation, Reason } from '@setwell/shared-models/score/shape';
import { told } from './pdf-cure-bar.ts';
import { heading, paragraph, type Pdf } from './pdf-page.ts';
import { filled, named } from './print-words.ts';
import type { RecordWords } from './record-words.ts';

/** In which words, and moments in the plant's own time. */
export interface Telling {
  words: RecordWords;
  time(ms: number): string;
}

/** Why a verdict is what it is, and what was breached without being one. */
export function reasonsOf(pdf: Pdf, load: LotLoad, telling: Telling): void {
  const { headings } = telling.words;
  if (load.verdict !== 'in-window' && load.reasons.length > 0) {
    list(
      pdf,
      headings.reasons,
      load.reasons.map((reason) => reasonText(reason, load, telling)),
    );
  }
  const { deviations = [] } = load;
  if (deviations.length === 0) return;
  list(
    pdf,
    headings.deviations,
    deviations.map((each) => deviationText(each, telling)),
  );
}

function list(pdf: Pdf, title: string, lines: readonly string[]): void {
  heading(pdf, title);
  for (const line of lines) paragraph(pdf, `–  ${line}`, 8.5);
}

/** As the screens say it. */
function reasonText(reason: Reason, { unit }: LotLoad, { words, time }: Telling): string {
  const say = (code: keyof RecordWords['reason'], values: Record<string, string> = {}) =>
    filled(words.reason[code], { unit: unit ?? '', ...values });
  const clock = (ms: number) => time(ms).slice(0, 19).replace('T', ' ');
  switch (reason.code) {
    case 'low-misses-least':
    case 'high-passes-most': {
      const { by, zone, glueLine } = reason;
      const place = glueLine === null ? zone : `${zone} · ${words.glueLine(glueLine)}`;
      return say(reason.code, { by: told(by, words), place });
    }
    case 'gap': {
      const { point, fromMs, toMs, cost } = reason;
      return say('gap', { point, from: clock(fromMs), to: clock(toMs), cost: told(cost, words) });
    }
    case 'no-reading': {
      const { zone, point } = reason;
      return point === null ? say('no-point', { zone }) : say('no-reading', { zone, point });
    }
    case 'start-stale': {
      const { zone, point, ageMs } = reason;
      return say('start-stale', { zone, point, age: `${String(Math.ceil(ageMs / 60_000))} min` });
    }
    case 'unproven-instrument':
      return say('unproven-instrument', { point: reason.point });
    case 'fault': {
      const { point, rule, fromMs, toMs } = reason;
      const values = { point, fault: named(words.fault, rule), from: clock(fromMs) };
      return toMs === null
        ? say('fault.lasts', values)
        : say('fault', { ...values, to: clock(toMs) });
    }
    case 'marks-assumed':
      return say('marks-assumed');
    case 'refused':
      return say('refused', { what: reason.what, because: reason.because });
    case 'requirement': {
      const { kind, verdict } = reason;
      return say('requirement', { kind: named(words.kind, kind), verdict: words.verdict[verdict] });
    }
  }
}

function deviationText(
  { phase, zone, what, side, by, unit, atMs }: Deviation,
  { words, time }: Telling,
): string {
  const text = filled(words.deviation[`${phase}.${side}`], {
    what: phase === 'requirement' ? named(words.kind, what) : what,
    zone: zone ?? '',
    by: `${told(by, words)} ${unit}`,
  });
  if (atMs === null) return text;
  const clock = time(atMs).slice(0, 19).replace('T', ' ');
  return `${text} ${filled(words.deviation.at, { clock })}`;
}
