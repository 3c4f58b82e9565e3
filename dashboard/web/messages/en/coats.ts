export const coats = {
  'coat.stack': 'Coats as they lie, top one first',
  'coat.how':
    'Bar: all bakes of a coat together against what it stands; the fine hatch is what later bakes gave.',
  'coat.name': 'Coat {n}',
  'coat.step': 'own bake {load}: {low}–{high} {unit}',
  'coat.missed': 'never baked: no later bake heals it',
  'coat.missedNow': 'never baked',
  'coat.unjudged': 'nobody could follow {loads}',
  'coat.parts': 'Parts {parts}',
  'coat.partsMore': 'Parts {parts} and {n} more',
};
