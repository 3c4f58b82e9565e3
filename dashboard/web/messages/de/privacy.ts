import type { privacy as original } from '../en/privacy.ts';

export const privacy: Record<keyof typeof original, string> = {
  'privacy.title': 'Was von Personen bleibt',
  'people.ownPassword': 'Mein Passwort ändern',
  'people.oldPassword': 'Passwort, das jetzt gilt',
  'people.passwordHow':
    'Am besten ein Satz. Häufige Passwörter und hiesige Namen werden abgelehnt.',
  'people.changePassword': 'Ändern',
  'people.passwordChanged': 'Geändert. Überall sonst sind Sie abgemeldet.',
  'people.signedInHere': 'Angemeldet nur hier, seit',
  'people.signedInAt': 'Angemeldet an {n} Stellen, seit',
  'people.endOthers': 'Überall sonst abmelden',
  'people.othersOut': 'Überall sonst abgemeldet.',
  'people.lockedOut': 'Niemand kann sich mehr anmelden?',
  'people.lockedOutHow':
    'Auf dem Rechner setwell administrator ausführen. Es zeigt einmal einen Code für hier, er gilt eine Stunde, und im Nachweis steht, dass er verlangt wurde. Mit dem Namen einer Verwaltung bekommt deren Konto ein neues Passwort, mit einem anderen Namen entsteht ein neues.',
  'noted.title': 'Anmeldungen und Ablehnungen',
  'noted.show': 'Die neuesten hundert',
  'noted.how':
    '90 Tage aufgehoben, für die, die auf das Werk achten. Kein Geheimnis und kein getippter Name steht darin.',
  'noted.when': 'wann',
  'noted.what': 'was',
  'noted.from': 'von',
  'noted.sign-in': 'angemeldet',
  'noted.identify': 'Ausweis oder PIN für eine Handlung',
  'noted.sign': 'Passwort mit Bedeutung',
  'noted.setup': 'Code des Rechners',
  'noted.own-password': 'eigenes Passwort',
  'noted.password-changed': 'eigenes Passwort geändert',
  'noted.others-signed-out': 'überall sonst abgemeldet',
  'noted.single-sign-on': 'über den Anmeldedienst des Werks angemeldet',
  'noted.sign-out': 'abgemeldet',
  'noted.end-refused': 'abgelehnt',
  'noted.end-waits': 'abgelehnt, zu viele Versuche',
  'noted.noRight': 'abgelehnt: es fehlt das Recht „{right}“',
  'noted.secretsOf': 'neue Geheimnisse für {person}',
  'privacy.to': 'Was von Personen bleibt, wie lange und wer es sieht',
  'privacy.intro':
    'Für Beschäftigte und ihre Vertretung. Hier steht, was dieses Programm aufhebt; was der Betrieb daraus macht, vereinbaren Betrieb und Vertretung.',
  'privacy.col.what': 'was',
  'privacy.col.where': 'wo',
  'privacy.col.long': 'wie lange',
  'privacy.col.who': 'wer es sieht',
  'privacy.record.what':
    'jede Handlung: eine Nummer (p-17), die Zeit, die Handlung, ihr Grund und ihre Bedeutung',
  'privacy.record.where': 'der Nachweis auf diesem Rechner und jede ausgegebene Losakte',
  'privacy.record.long': 'so lange wie der Nachweis: er belegt, wie ein Erzeugnis entstand',
  'privacy.record.who': 'wer den Nachweis lesen darf; Schirme der Halle zeigen Aufgaben',
  'privacy.names.what':
    'Name, Aufgaben und Hallen zu jeder Nummer; Ausweis, PIN und Passwort nur als Prüfwert',
  'privacy.names.where': 'eine Datei auf diesem Rechner (people.db)',
  'privacy.names.long':
    'bis das Konto endet und {days} Tage länger; dann geht der Name von selbst, von Hand auch früher',
  'privacy.names.who': 'wer prüfen oder verwalten darf',
  'privacy.signIns.what': 'Anmeldungen und Ablehnungen: Nummer, Zeit, Netzadresse',
  'privacy.signIns.where': 'dieselbe Datei und das Protokoll des Rechners',
  'privacy.signIns.long':
    '90 Tage in der Datei; im Protokoll des Rechners, wie es dort eingestellt ist',
  'privacy.signIns.who': 'die Verwaltung',
  'privacy.backups.what': 'eine Kopie von beidem',
  'privacy.backups.where': 'jede Sicherung des Rechners',
  'privacy.backups.long':
    'solange die Sicherung aufgehoben wird: in älteren steht ein vergessener Name noch',
  'privacy.backups.who': 'wer die Sicherung hat',
  'privacy.walls.what': 'Wände und Programme: Name, Halle und wann zuletzt gesehen',
  'privacy.walls.where': 'dieselbe Datei; eine vermisste Wand steht mit Namen im Nachweis',
  'privacy.walls.long': 'bis sie hinausgelassen werden',
  'privacy.walls.who': 'die Verwaltung',
  'privacy.screens.what':
    'was ein Browser behält: Sprache, Hell/Dunkel, Grade, Belegung des Scanners',
  'privacy.screens.where': 'dieser Browser',
  'privacy.screens.long': 'bis er dort geleert wird',
  'privacy.screens.who': 'wer diesen Browser benutzt',
  'privacy.never': 'Was nie daraus gemacht wird',
  'privacy.never.text':
    'Niemand wird gereiht: es gibt keine Zahl, keine Liste und kein Bild nach Person, und keine Zeit zwischen Handlungen wird nach Person gezählt. Gemessen werden Platten, Luft und Beschickungen.',
  'privacy.erase': 'Wenn jemand geht',
  'privacy.erase.text':
    'Das Konto wird hinausgelassen, mit jedem Browser, an dem es angemeldet ist. {days} Tage später wird der Name vergessen, oder sofort mit der Taste daneben. Es bleibt die Nummer; am Nachweis ändert sich nichts.',
  'privacy.who': 'Sehen, was von einem selbst bleibt',
  'privacy.who.text':
    'Die Verwaltung nennt Ihnen Ihre Nummer. Nachweise → Verlauf zeigt jede Handlung dieser Nummer; die eigenen Anmeldungen stehen in den Einstellungen.',
  'privacy.ask': 'Was der Betrieb entscheidet',
  'privacy.ask.text':
    'Ob Ansehen eine Anmeldung braucht (site: reading), wie viele Tage Namen bleiben (site: namesKeptD), wer welche Aufgabe und Halle hat. Jede Vergabe von Rechten steht im Nachweis.',
  'privacy.law':
    'Diese Seite ist keine Rechtsberatung: Datenschutz und Mitbestimmung folgen dem Recht des Landes.',
};
