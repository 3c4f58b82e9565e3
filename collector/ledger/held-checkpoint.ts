import {
  parseCheckpointText,
  parsePrintedCheckpoint,
  type Checkpoint,
} from '@setwell/shared-models/record/checkpoint';
import { parseNote, type SignedNote } from './signed-note.ts';

export interface HeldCheckpoint {
  checkpoint: Checkpoint;
  /** Null: it was copied from a sheet, and whoever holds the sheet trusts it already. */
  note: SignedNote | null;
}

/** @returns null for what is no signed checkpoint, whoever signed it */
export function signedCheckpoint(
  text: string,
): { checkpoint: Checkpoint; note: SignedNote } | null {
  const note = parseNote(text);
  const checkpoint = note && parseCheckpointText(note.text);
  return checkpoint && { checkpoint, note };
}

/** An older checkpoint as somebody brings it: its signed note, or copied from a sheet. */
export function heldCheckpoint(text: string): HeldCheckpoint | null {
  if (parseNote(text)) return signedCheckpoint(text);
  const checkpoint = parsePrintedCheckpoint(text);
  return checkpoint && { checkpoint, note: null };
}
