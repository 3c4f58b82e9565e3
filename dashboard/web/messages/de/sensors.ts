import type { sensors as original } from '../en/sensors.ts';

export const sensors: Record<keyof typeof original, string> = {
  'sensors.title': 'Fühler',
  'sensors.none': 'Noch keine Messstellen. In plant.yaml benennen.',
  'sensors.col.point': 'Messstelle',
  'sensors.col.station': 'Station',
  'sensors.col.value': 'letzter Wert',
  'sensors.col.when': 'um',
  'sensors.col.rate': 'je Minute',
  'sensors.col.quality': 'Güte',
  'sensors.col.topic': 'Topic',
  'sensors.silent': 'still seit {clock}',
  'sensors.never': 'noch nichts',
  'sensors.aside': 'Beiseitegelegt, mit dem Grund',
  'sensors.asideNone': 'Keine Meldung wurde beiseitegelegt.',
  'sensors.aside.when': 'empfangen',
  'sensors.aside.code': 'Grund',
  'sensors.aside.found': 'gefunden',
  'sensors.aside.expected': 'erwartet',
  'sensors.aside.payload': 'Meldung',
  'sensors.silentCount': '{n} von {all} Messstellen sind still',
  'sensors.allSpeak': 'Alle {all} Messstellen sprechen',
};
