import type { start as original } from '../en/start.ts';

export const start: Record<keyof typeof original, string> = {
  'start.title': 'Beschicken',
  'start.station': 'Station',
  'start.opening': 'Etage',
  'start.zones': 'Zonen',
  'start.allZones': 'ganz',
  'start.lot': 'Los',
  'start.parts': 'Teile (wahlweise, eines je Zeile oder mit Komma)',
  'start.recipe': 'Rezept',
  'start.noneRecipe': 'Rezept wählen',
  'start.noRecipes': 'Kein freigegebenes Rezept für diese Art von Station.',
  'start.when': 'Es ging hinein',
  'start.now': 'jetzt',
  'start.ago': 'vor {min} min',
  'start.go': 'Start',
  'start.echo': 'zählt ab {clock}; die Zeit dieses Eintrags bleibt dabei',
  'start.missingLot': 'Sagen Sie, welches Los es ist.',
  'start.missingRecipe': 'Wählen Sie das Rezept, nach dem beurteilt wird.',
  'start.done': 'Aufgezeichnet: {lot} in {station} seit {clock}.',
  'start.noStations': 'Noch keine Stationen.',
};
