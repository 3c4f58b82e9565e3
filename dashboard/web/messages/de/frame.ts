import type { frame as original } from '../en/frame.ts';

export const frame: Record<keyof typeof original, string> = {
  'app.name': 'Setwell',
  'app.demo': 'Demo',
  'app.skip': 'Zum Inhalt',
  'app.advises': 'Setwell berät; es öffnet und sperrt nichts.',
  'app.connected': 'verbunden',
  'app.notConnected': 'keine Verbindung',
  'app.notFound': 'Diese Seite gibt es nicht.',
  'app.toFloor': 'Zur Halle',
  'app.language': 'English',
  'app.dark': 'Dunkel',
  'app.soundOff': 'Ton aus',
  'app.soundOn': 'Ton an',
  'app.soundLocked': 'Ton gesperrt: hier berühren',
  'app.asDesk': 'Wie am Tisch',
  'app.light': 'Hell',
  'app.settings': 'Dieser Schirm',
  'app.asTable': 'als Tabelle',
  'app.fault':
    'Diese Seite hat einen Fehler: {what}. Neu laden; was aufgezeichnet ist, bleibt unberührt.',

  'nav.label': 'Seiten',
  'nav.floor': 'Halle',
  'nav.heatUp': 'Aufheizen',
  'nav.calls': 'Rufe',
  'nav.lots': 'Lose',
  'nav.recipes': 'Rezepte',
  'nav.sensors': 'Fühler',
  'nav.scan': 'Scannen',
  'nav.handover': 'Übergabe',
  'nav.start': 'Beschicken',

  'person.lookAs': 'ansehen als',
  'person.shift-lead': 'Schichtführung',
  'person.maintenance': 'Instandhaltung',
  'person.engineer': 'Verfahrenstechnik',
  'person.auditor': 'Prüfung',
  'person.administrator': 'Verwaltung',
  'person.plant': 'die Anlagensteuerung',
  'person.collector': 'Setwell',
  'person.who': 'Wer tut das?',
  'person.name': 'Ihr Name, für den Nachweis',
  'person.later':
    'Die Anmeldung kommt später: bis dahin gilt jeder eingetippte Name, und nur an diesem Rechner.',
  'person.goOn': 'Weiter',
  'person.cancel': 'Abbrechen',
  'person.change': 'nicht Sie?',
  'person.none': 'noch kein Name',

  'act.notRecorded':
    'Nicht aufgezeichnet: der Sammler antwortet nicht. Noch einmal, wenn er wieder da ist.',
  'act.stored':
    'Gespeichert, noch nicht beurteilt: die Beurteilung ist im Rückstand. Nichts ist verloren; noch einmal drücken fragt nach.',
  'act.unknown':
    'Nicht bekannt, ob es festgehalten ist: die Antwort ging verloren. Noch einmal drücken; es zählt einmal.',
  'act.movedOn': 'Nicht aufgezeichnet: es ist inzwischen weitergegangen. Noch einmal hinsehen.',
  'act.why.second-person': 'Sie haben es schon gesagt; eine andere Person muss dasselbe sagen.',
  'act.refused': 'Nicht aufgezeichnet: {why}',
  'ask.noServer': 'Keine Verbindung zum Server.',
  'act.noServer': 'Nicht aufgezeichnet: keine Verbindung zum Server.',
  'note.hot':
    'Heiße Flächen: Heizplatten bei Härtetemperatur verbrennen bei Berührung, weit über den Schwellen der ISO 13732-1. Vor jedem Griff zwischen die Platten die Maschine gegen Einschalten sichern. Setwell öffnet und sperrt nichts; Öffnen im Notfall hat immer Vorrang.',
  'note.exposure':
    'Dampf aus Leim oder Lack: für Formaldehyd (etwa OSHA 29 CFR 1910.1048) und Isocyanate (in der EU Richtlinie 98/24/EG) gelten Grenzwerte, die Setwell nicht misst.',
  'note.flammable':
    'Heiße Luft und brennbarer Dampf: ein Trockenofen muss Dampf weit unter der Explosionsgrenze halten (NFPA 86, wo sie gilt; andere Länder weichen ab). Setwell misst keinen Dampf und startet und stoppt nichts.',
  'note.follow':
    'Sicherheitsdatenblatt, Regeln des Betriebs und örtliches Recht befolgen; befugte Fachleute urteilen.',
};
