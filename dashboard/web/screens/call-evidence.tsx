import type { FloorCall } from '@setwell/shared-models/api/floor';
import type { CallEvidence } from '@setwell/shared-models/record/call-bodies';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';

/** What a call rests on: readings of a point, a message of a station, an entry of the record. */
export function CallEvidenceLines({ call, nowMs }: { call: FloorCall; nowMs: number }) {
  const { evidence = [] } = call;
  if (evidence.length === 0) return null;
  return (
    <small class="num">
      {say('calls.evidence')}{' '}
      {evidence.map((each, i) => (
        <span key={i}>
          {i > 0 && ' · '}
          <Piece each={each} nowMs={nowMs} />
        </span>
      ))}
    </small>
  );
}

function Piece({ each, nowMs }: { each: CallEvidence; nowMs: number }) {
  switch (each.what) {
    case 'readings': {
      const { point, fromMs, toMs } = each;
      const from = clockFrom(fromMs, nowMs);
      const to = clockFrom(toMs, nowMs);
      return (
        <>
          <a class="id" href={`/sensors/${encodeURIComponent(point)}`}>
            {point}
          </a>{' '}
          {fromMs === toMs
            ? say('calls.evidence.reading', { clock: from })
            : say('calls.evidence.readings', { from, to })}
        </>
      );
    }
    case 'event':
      return <>{say('calls.evidence.event', { seq: each.seq, place: each.index + 1 })}</>;
    case 'entry':
      return <>{say('calls.evidence.entry', { n: each.n })}</>;
  }
}
