import type { Bake } from '@setwell/shared-models/score/coats';
import type {
  CarriedCoat,
  CarriedFace,
  Forecast,
  ScoreInput,
  ScoreResult,
  Weights,
} from '@setwell/shared-models/score/shape';
import type { RawReading } from '@setwell/shared-models/score/readings';

/** The computing part of a verdict, as the judge calls it. An argument, so that a fault can be tried. */
export interface Model {
  /** Null for code that is not released. */
  readonly number: number | null;
  readonly sha256: string | null;
  /** Which share of each bound moves the low and high runs; found once, on the planned cycle. */
  weigh(input: ScoreInput): Weights[];
  /** What a load carries of its parts' earlier bakes, by their readings. */
  carried(input: ScoreInput, bakes: readonly Bake[]): CarriedCoat[];
  /** As if the load ended at `asOfMs`, or as it did end; the forecast only where it is asked for. */
  judge(
    input: ScoreInput,
    readings: readonly RawReading[],
  ): {
    result: ScoreResult;
    forecast: () => Forecast | null;
    /** What it leaves to the next closing. */
    carried: () => CarriedFace[];
  };
}
