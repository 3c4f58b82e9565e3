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
  safety:
    'Wer vermisst, greift an heiße Flächen; sie verbrennen bei Berührung: vor jedem Griff zwischen die Platten sichern; den Regeln des Arbeitgebers und den örtlichen Vorschriften folgen. Setwell schützt niemanden.',
};

export const surveyWords: Record<PrintLanguage, SurveyWords> = {
  en: { ...en, frame: frameWords.en },
  de: { ...de, frame: frameWords.de },
};
