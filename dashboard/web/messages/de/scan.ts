import type { scan as original } from '../en/scan.ts';

export const scan: Record<keyof typeof original, string> = {
  'scan.noCall': 'Niemand ist zu {station} gerufen.',
  'scan.noLoad': 'In {station} ist nichts.',
  'scan.go': 'Aufgezeichnet: Sie gehen zu {station}.',
  'scan.end': 'Aufgezeichnet: Los {lot} ist aus {station}.',
  'scan.hold': 'Aufgezeichnet: Los {lot} ist gesperrt.',
  'scan.keep-closed': 'Aufgezeichnet: {station} bleibt 5 min länger zu.',
  'scan.holdReason': 'gesperrt mit der Karte an der Station',
  'scan.unknown': '„{typed}“ ist hier nicht bekannt. Siehe Scannerprüfung.',
  'scan.readAs': '„{typed}“ gelesen als {text}',
  'camera.scan': 'Mit der Kamera scannen',
  'camera.look': 'Den Code vor die Kamera halten',
  'camera.noReader':
    'Dieser Browser liest mit der Kamera keine Codes: ein Handscanner trägt das Los ein, oder tippen Sie es.',
  'camera.noTls':
    'Die Kamera geht erst, wenn diese Seiten mit TLS kommen: ein Handscanner trägt das Los ein, oder tippen Sie es.',
  'camera.refused':
    'Diese Seite darf die Kamera nicht benutzen. Erlauben Sie es in den Einstellungen des Browsers für diese Seite, oder tippen Sie das Los.',
  'camera.none': 'Keine Kamera gefunden. Nehmen Sie einen Handscanner, oder tippen Sie das Los.',
  'camera.failed':
    'Die Kamera gab kein Bild. Schließen Sie, was sie sonst benutzt, oder tippen Sie das Los.',
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
  'card.demo': 'Demo-Anlage, erfunden',
  'card.start': 'Beschickung beginnen',
  'card.end': 'Beschickung ist heraus',
  'card.go': 'Ich gehe',
  'card.hold': 'Sperren',
  'card.keep-closed': '5 min länger zu',
};
