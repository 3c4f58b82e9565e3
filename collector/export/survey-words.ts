import { frameWords, type FrameWords } from './frame-words.ts';
import type { PrintLanguage } from './print-words.ts';

/** What stands on a survey's plan and on its sheet. */
const en = {
  decimal: '.',
  plan: {
    title: (station: string) => `Survey plan · ${station}`,
    goal: (c: string, k: string, min: number) =>
      `set point ${c} ± ${k} °C, soak ${String(min)} min`,
    order:
      'As you stand in front of it, the back at the top; in the order of the numbers, row by row from the left.',
    back: 'back',
    here: 'you stand here',
    what: 'What to do',
    own: 'Nothing is to be fitted: its own points are read, each corrected by its certificate.',
    loose:
      'With the station locked out, put a thermocouple at each number, in that order; close it empty, or as it is used.',
    wait: 'Bring it to the set point and wait until no place moves any more by more than a tenth of the tolerance in ten minutes.',
    soak: (min: number) =>
      `Soak for ${String(min)} min or longer, a sample of each place every 2 min or oftener.`,
    file: (columns: string) =>
      `Bring the logger’s file with one column a place, in that order: ${columns}`,
    record: 'Record the survey on the Heat-up screen of the station; its sheet is signed there.',
    with: 'Measured with',
    columns: ['no.', 'place', 'instrument', 'certificate', 'due', 'remark'],
    began: 'soak began ______________   ended ______________   by ______________________',
  },
  sheet: {
    title: (name: string) => `Survey ${name}`,
    verdict: (c: string, k: string, inside: boolean) =>
      `set point ${c} ± ${k} °C: ${inside ? 'inside' : 'OUTSIDE'}`,
    figures: 'Figures',
    figureColumns: ['figure', 'value'],
    uniformity: 'uniformity: greatest less least mean',
    spread: 'overall spread: greatest less least sample',
    fluctuation: 'fluctuation: half a point’s range in time, the most',
    worst: 'worst deviation of a sample',
    at: (k: string, point: string) => `${k} K at ${point}`,
    place: 'place, a half-width, for a recipe’s placeK',
    soak: 'soak',
    soaked: (from: number, to: number, samples: number) =>
      `${String(from)} to ${String(to)} s, ${String(samples)} samples a point`,
    map: 'Map, seen from the operator’s side',
    points: 'Points',
    pointColumns: [
      ...['point', 'sensor', 'certificate', 'observed °C', 'correction K'],
      ...['corrected °C', 'in time K'],
    ],
    asGiven: 'as given',
    against: 'Against the last survey',
    moved: (k: string) => `uniformity ${k} K`,
    movedColumns: ['point', 'moved against the others'],
    exchanged: (one: string, other: string) =>
      `${one} and ${other} read as each other did: wires or columns may be swapped`,
    rests: 'What this sheet rests on',
    samples: (sha256: string) => `samples: SHA-256 ${sha256}`,
    how: 'Samples were corrected first, then judged, each for itself; nothing was extrapolated beyond calibrated points. Points of a platen or an oven: common practice, no source. Surveying reaches to hot faces: follow the local rules, lock out before anybody reaches between platens.',
    signed: 'surveyed by ______________________   reviewed by ______________________',
    printed: (at: string, by: string) => `${at} · printed by ${by}`,
  },
  safety:
    'Surveying reaches to hot faces, which burn on touch: lock out before anybody reaches between platens; follow your employer’s rules and the local code. Setwell protects nobody.',
};

export type SurveyWords = typeof en & { frame: FrameWords };

const de: typeof en = {
  decimal: ',',
  plan: {
    title: (station) => `Plan der Vermessung · ${station}`,
    goal: (c, k, min) => `Sollwert ${c} ± ${k} °C, Haltezeit ${String(min)} min`,
    order:
      'Wie Sie davor stehen, hinten ist oben; in der Reihenfolge der Zahlen, Reihe für Reihe von links.',
    back: 'hinten',
    here: 'hier stehen Sie',
    what: 'Was zu tun ist',
    own: 'Es wird nichts eingelegt: die eigenen Punkte werden gelesen, jeder nach seinem Kalibrierschein berichtigt.',
    loose:
      'An der gesperrten Station an jede Zahl ein Thermoelement legen, in dieser Reihenfolge; leer schließen, oder wie im Betrieb.',
    wait: 'Auf den Sollwert bringen und warten, bis sich in zehn Minuten keine Stelle mehr um mehr als ein Zehntel der Toleranz bewegt.',
    soak: (min) =>
      `${String(min)} min oder länger halten, von jeder Stelle alle 2 min oder öfter ein Wert.`,
    file: (columns) =>
      `Die Datei des Schreibers mit einer Spalte je Stelle mitbringen, in dieser Reihenfolge: ${columns}`,
    record:
      'Die Vermessung unter Aufheizen bei der Station festhalten; ihr Blatt wird dort unterschrieben.',
    with: 'Gemessen mit',
    columns: ['Nr.', 'Stelle', 'Messmittel', 'Kalibrierschein', 'fällig', 'Bemerkung'],
    began: 'Haltezeit ab ______________   bis ______________   durch ______________________',
  },
  sheet: {
    title: (name) => `Vermessung ${name}`,
    verdict: (c, k, inside) => `Sollwert ${c} ± ${k} °C: ${inside ? 'innerhalb' : 'AUSSERHALB'}`,
    figures: 'Kennwerte',
    figureColumns: ['Kennwert', 'Wert'],
    uniformity: 'Gleichmäßigkeit: größtes weniger kleinstes Mittel',
    spread: 'Spannweite: größter weniger kleinster Wert',
    fluctuation: 'Schwankung: halbe Spanne einer Stelle in der Zeit, die größte',
    worst: 'größte Abweichung eines Wertes',
    at: (k, point) => `${k} K an ${point}`,
    place: 'Ort, eine Halbbreite, für placeK eines Rezepts',
    soak: 'Haltezeit',
    soaked: (from, to, samples) =>
      `${String(from)} bis ${String(to)} s, ${String(samples)} Werte je Stelle`,
    map: 'Karte, von der Bedienseite gesehen',
    points: 'Stellen',
    pointColumns: [
      ...['Stelle', 'Fühler', 'Kalibrierschein', 'gelesen °C', 'Korrektur K'],
      ...['berichtigt °C', 'in der Zeit K'],
    ],
    asGiven: 'wie gegeben',
    against: 'Gegen die letzte Vermessung',
    moved: (k) => `Gleichmäßigkeit ${k} K`,
    movedColumns: ['Stelle', 'gegen die anderen gewandert'],
    exchanged: (one, other) =>
      `${one} und ${other} lesen wie damals der andere: Leitungen oder Spalten können vertauscht sein`,
    rests: 'Worauf dieses Blatt beruht',
    samples: (sha256) => `Werte: SHA-256 ${sha256}`,
    how: 'Die Werte wurden erst berichtigt, dann beurteilt, jeder für sich; über kalibrierte Punkte hinaus wurde nichts fortgesetzt. Stellen einer Heizplatte oder eines Ofens: übliche Praxis, ohne Quelle. Wer vermisst, greift an heiße Flächen: den örtlichen Regeln folgen, vor jedem Griff zwischen die Platten sichern.',
    signed: 'vermessen von ______________________   geprüft von ______________________',
    printed: (at, by) => `${at} · gedruckt von ${by}`,
  },
  safety:
    'Wer vermisst, greift an heiße Flächen; sie verbrennen bei Berührung: vor jedem Griff zwischen die Platten sichern; den Regeln des Arbeitgebers und den örtlichen Vorschriften folgen. Setwell schützt niemanden.',
};

export const surveyWords: Record<PrintLanguage, SurveyWords> = {
  en: { ...en, frame: frameWords.en },
  de: { ...de, frame: frameWords.de },
};
