import { forecast } from '@setwell/shared-models/forecast/forecast';
import { carriedFaces } from '@setwell/shared-models/score/cold-tool';
import { resultOf } from '@setwell/shared-models/score/score';
import { planWeights } from '@setwell/shared-models/score/weigh';
import type { Model } from './model.ts';
import { OpenLoads } from './open-loads.ts';

const openLoads = new OpenLoads();

/** The model of this source tree. No number: none is released yet. */
export const scoreModel: Model = {
  number: null,
  sha256: null,
  weigh: planWeights,
  judge(input, readings) {
    const fold = openLoads.fold(input, readings);
    return {
      result: resultOf(input, fold),
      forecast: () => forecast(input, fold, input.asOfMs),
      carried: () => carriedFaces(fold),
    };
  },
};
