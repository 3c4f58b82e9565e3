import { forecast } from '@setwell/shared-models/forecast/forecast';
import { foldLoad } from '@setwell/shared-models/score/fold';
import { resultOf } from '@setwell/shared-models/score/score';
import { planWeights } from '@setwell/shared-models/score/weigh';
import type { Model } from './model.ts';

/** The model of this source tree. No number: none is released yet. */
export const scoreModel: Model = {
  number: null,
  sha256: null,
  weigh: planWeights,
  judge(input, readings) {
    const fold = foldLoad(input, readings);
    return {
      result: resultOf(input, fold),
      forecast: () => forecast(input, fold, input.asOfMs),
    };
  },
};
