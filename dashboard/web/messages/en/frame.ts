export const frame = {
  'app.name': 'Setwell',
  'app.demo': 'demo',
  'app.skip': 'Skip to the content',
  'app.advises': 'Setwell advises; it opens and locks nothing.',
  'app.connected': 'connected',
  'app.notConnected': 'no connection',
  'app.notFound': 'There is no such page.',
  'app.toFloor': 'To the Floor',
  'app.language': 'Deutsch',
  'app.dark': 'Dark',
  'app.soundOff': 'Sound off',
  'app.soundOn': 'Sound on',
  'app.soundLocked': 'Sound locked: touch here',
  'app.asDesk': 'As on a desk',
  'app.light': 'Light',
  'app.settings': 'This screen',
  'app.asTable': 'as a table',
  'app.fault':
    'This page has a fault: {what}. Load it again; what is recorded is not touched by this.',

  'nav.label': 'Screens',
  'nav.floor': 'Floor',
  'nav.calls': 'Calls',
  'nav.lots': 'Lots',
  'nav.sensors': 'Sensors',
  'nav.scan': 'Scan',
  'nav.handover': 'Handover',
  'nav.start': 'Start load',

  'person.lookAs': 'look as',
  'person.shift-lead': 'shift lead',
  'person.maintenance': 'maintenance',
  'person.engineer': 'engineer',
  'person.auditor': 'auditor',
  'person.administrator': 'administrator',
  'person.plant': 'the plant’s controller',
  'person.collector': 'Setwell',
  'person.who': 'Who does this?',
  'person.name': 'Your name, for the record',
  'person.later':
    'Sign-in comes later: until then any name can be typed, and only at this machine.',
  'person.goOn': 'Go on',
  'person.cancel': 'Cancel',
  'person.change': 'not you?',
  'person.none': 'no name yet',

  'note.hot':
    'Hot surfaces. Follow your lock-out and burn rules, your employer’s rules and the local code; licensed people judge. Setwell opens and locks nothing; opening in an emergency always has the right of way.',
  'note.oven':
    'Hot air and flammable vapour. Follow the safety data sheet, your ventilation and oven rules and the local code; licensed people judge. Setwell starts and stops nothing.',
  'note.fumes':
    'Vapour from glue or coating. Follow the safety data sheet, your ventilation rules and the local code.',

  'act.notRecorded': 'Not recorded: the collector does not answer. Try again when it is back.',
  'act.movedOn': 'Not recorded: this has moved on meanwhile. Look again.',
  'act.refused': 'Not recorded: {why}',
  'act.noServer': 'Not recorded: no connection to the server.',
};
