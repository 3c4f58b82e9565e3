import { conflictRule } from './conflict.ts';
import { neighbourRules } from './neighbour.ts';
import { noiseRules } from './noise.ts';
import { oneWireRule } from './one-wire.ts';
import { rateRule } from './rate.ts';
import type { PlantRuleKind, PointRuleKind } from './rule.ts';
import { silenceRule } from './silence.ts';
import { stampRules } from './stamps.ts';
import { stuckRule } from './stuck.ts';
import { swappedRule } from './swapped.ts';
import { wireRules } from './wire.ts';

/** Every rule over one point; a new one is one line here. */
export const pointRules: readonly PointRuleKind[] = [
  ...wireRules,
  rateRule,
  stuckRule,
  ...noiseRules,
  silenceRule,
  ...stampRules,
  conflictRule,
];

/** Every rule that takes more than one point to see. */
export const plantRules: readonly PlantRuleKind[] = [oneWireRule, swappedRule, ...neighbourRules];
