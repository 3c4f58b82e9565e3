import type { scan as original } from '../en/scan.ts';

export const scan: Record<keyof typeof original, string> = {
  'scan.noCall': 'Niemand ist zu {station} gerufen.',
  'scan.noLoad': 'In {station} ist nichts.',
  'scan.go': 'Aufgezeichnet: Sie gehen zu {station}.',
  'scan.end': 'Aufgezeichnet: Los {lot} ist aus {station}.',
  'scan.hold': 'Aufgezeichnet: Los {lot} ist gesperrt.',
  'scan.keep-closed': 'Aufgezeichnet: {station} bleibt 5 min länger zu.',
  'scan.holdReason': 'gesperrt mit der Karte an der Station',
  'scan.unknown': '„{typed}“ ist hier kein bekanntes Los. Siehe Scannerprüfung.',
  'scan.readAs': '„{typed}“ gelesen als {text}',
  'scanner.title': 'Scannerprüfung',
  'scanner.how':
    'Diese Seite drucken und den Code scannen. Die Seite sagt, was Scanner und Rechner daraus machen, und dieses Gerät merkt es sich.',
  'scanner.same': 'Scanner und Rechner stimmen überein.',
  'scanner.differs':
    'Der Scanner tippt wie eine amerikanische Tastatur, dieser Rechner liest {layout}: {printed} kam als {typed}. Ab jetzt wird es auf diesem Gerät richtig gelesen.',
  'scanner.unknown':
    '{printed} kam als {typed}: keine hier bekannte Belegung macht das daraus. Den Scanner auf die Tastatur des Rechners stellen.',
  'scanner.unchecked':
    'Dieses Gerät ist noch nicht geprüft. Gescanntes wird mit den bekannten Belegungen versucht und nur genommen, wenn genau ein bekanntes Los passt.',
  'scanner.kept': 'Auf diesem Gerät: {layout} (K-118 kommt als {example}).',
  'scanner.or': '{one} oder {other}',
  'scanner.layout.us': 'amerikanisch',
  'scanner.layout.de': 'deutsch',
  'scanner.layout.da': 'dänisch',
  'scanner.layout.es': 'spanisch',
  'scanner.layout.it': 'italienisch',
  'scanner.layout.tr': 'türkisch',
  'scanner.layout.fr': 'französisch',
  'scanner.layout.pl': 'polnisch',
  'card.title': 'Karte: {station}',
  'card.how':
    'Code scannen; danach sagen, wer Sie sind. Nur Rat: nichts hier öffnet, startet oder sperrt die Station.',
  'card.notKnown': 'Keine Station „{station}“ bekannt.',
  'card.demo': 'Demoanlage, erfunden',
  'card.start': 'Beschickung beginnen',
  'card.end': 'Beschickung ist heraus',
  'card.go': 'Ich gehe',
  'card.hold': 'Sperren',
  'card.keep-closed': '5 min länger zu',
};
