import { forecast } from '@setwell/shared-models/forecast/forecast';
import { carriedFaces } from '@setwell/shared-models/score/cold-tool';
import { carriedTo, scoreCoats } from '@setwell/shared-models/score/coats';
import { foldLoad } from '@setwell/shared-models/score/fold';
import { canonicalReadings } from '@setwell/shared-models/score/readings';
import { resultOf } from '@setwell/shared-models/score/score';
import { planWeights } from '@setwell/shared-models/score/weigh';
import type { Model } from './model.ts';
import { OpenLoads } from './open-loads.ts';
import { newestReleased } from './released-model.ts';

const sources = { carriedTo, scoreCoats };
const openLoads = new OpenLoads();
const released = await newestReleased();

/**
 * The model that judges: running loads by this source tree, look by look; what is sealed by the newest
 * released file itself, so that a record names the very text that gave its verdict.
 */
export const scoreModel: Model = {
  number: released?.number ?? null,
  sha256: released?.sha256 ?? null,
  weigh: planWeights,
  carried(input, bakes) {
    const { carriedTo, scoreCoats } = released ?? sources;
    return carriedTo(input, scoreCoats(bakes));
  },
  judge(input, readings) {
    // Only a record's input names its readings.
    if (released !== null && input.readingsSha256 !== '') {
      const result = released.score(input, canonicalReadings(readings));
      const carried = () => carriedFaces(foldLoad(input, readings));
      return { result, forecast: () => null, carried };
    }
    const fold = openLoads.fold(input, readings);
    return {
      result: resultOf(input, fold),
      forecast: () => forecast(input, fold, input.asOfMs),
      carried: () => carriedFaces(fold),
    };
  },
};
