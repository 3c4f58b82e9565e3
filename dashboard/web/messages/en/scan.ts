export const scan = {
  'scan.noCall': 'Nobody is called to {station}.',
  'scan.noLoad': 'Nothing is in {station}.',
  'scan.go': 'Recorded: you go to {station}.',
  'scan.end': 'Recorded: lot {lot} is out of {station}.',
  'scan.hold': 'Recorded: lot {lot} is on hold.',
  'scan.keep-closed': 'Recorded: {station} stays closed 5 min longer.',
  'scan.holdReason': 'held by the card at the station',
  'scan.unknown': '“{typed}” isn’t known here. See the scanner check.',
  'scan.readAs': '“{typed}” read as {text}',
  'camera.scan': 'Scan with the camera',
  'camera.look': 'Hold the code before the camera',
  'camera.noReader':
    'This browser reads no codes with a camera: a hand scanner fills in the lot, or type it.',
  'camera.noTls':
    'The camera waits for these pages to come with TLS: a hand scanner fills in the lot, or type it.',
  'camera.refused':
    'This page may not use the camera. Allow it in the browser’s settings of this page, or type the lot.',
  'camera.none': 'No camera was found. Use a hand scanner, or type the lot.',
  'camera.failed': 'The camera gave no picture. Close what else is using it, or type the lot.',
  'scanner.title': 'Scanner check',
  'scanner.how':
    'Print this page and scan the code. The page says what scanner and computer make of it, and this device remembers.',
  'scanner.same': 'Scanner and computer agree.',
  'scanner.differs':
    'The scanner types as an American keyboard, this computer reads {layout}: {printed} came as {typed}. From now on it is read rightly on this device.',
  'scanner.unknown':
    '{printed} came as {typed}: no layout known here makes that of it. Set the scanner to the computer’s keyboard.',
  'scanner.unchecked':
    'This device was not checked yet. What is scanned is tried through the known layouts, and taken only where exactly one known lot fits.',
  'scanner.kept': 'On this device: {layout} (K-118 comes as {example}).',
  'scanner.or': '{one} or {other}',
  'scanner.layout.us': 'American',
  'scanner.layout.de': 'German',
  'scanner.layout.da': 'Danish',
  'scanner.layout.es': 'Spanish',
  'scanner.layout.it': 'Italian',
  'scanner.layout.tr': 'Turkish',
  'scanner.layout.fr': 'French',
  'scanner.layout.pl': 'Polish',
  'card.title': 'Act card: {station}',
  'card.how':
    'Scan a code; then say who you are. Advice only: nothing here opens, starts or locks the station.',
  'card.notKnown': 'No station “{station}” is known.',
  'card.demo': 'demo plant, invented',
  'card.start': 'Start a load',
  'card.end': 'The load is out',
  'card.go': 'I go',
  'card.hold': 'Hold',
  'card.keep-closed': 'Closed 5 min longer',
};
