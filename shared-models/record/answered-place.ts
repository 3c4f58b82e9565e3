import type {
  CallRaised,
  InstrumentRemoved,
  JournalPlace,
  LoadEnded,
  LoadOpened,
} from './bodies.ts';
import type { Entry } from './entry.ts';

/** Where in the journal stands what an entry answers; null where it answers nothing that came in. */
export function answeredPlace({ kind, body }: Entry): JournalPlace | null {
  switch (kind) {
    case 'load-opened':
    case 'load-ended':
    case 'instrument-fitted':
    case 'instrument-removed':
      return (body as LoadOpened | LoadEnded | InstrumentRemoved).event;
    case 'call-raised': {
      const { seq, index } = (body as CallRaised).values;
      return typeof seq === 'number' && typeof index === 'number' ? { seq, index } : null;
    }
    default:
      return null;
  }
}
