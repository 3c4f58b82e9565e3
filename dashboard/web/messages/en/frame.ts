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
  'nav.heatUp': 'Heat-up',
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

  'act.notRecorded': 'Not recorded: the collector does not answer. Try again when it is back.',
  'act.stored': 'Stored, not yet judged: the judge is behind. Nothing is lost; press again to ask.',
  'act.unknown':
    'Not known whether it was recorded: the answer got lost. Press again; it counts once.',
  'act.movedOn': 'Not recorded: this has moved on meanwhile. Look again.',
  'act.refused': 'Not recorded: {why}',
  'act.noServer': 'Not recorded: no connection to the server.',
  'note.hot':
    'Hot surfaces: platens at curing temperature burn on touch, far above the burn thresholds of ISO 13732-1. Lock out the machine before anybody reaches between platens. Setwell opens and locks nothing; opening in an emergency always has the right of way.',
  'note.exposure':
    'Vapour from glue or coating: formaldehyde (for example OSHA 29 CFR 1910.1048) and isocyanates (in the EU Directive 98/24/EC) have limits that Setwell does not measure.',
  'note.flammable':
    'Hot air and flammable vapour: a drying oven must keep vapour well below its explosive limit (NFPA 86 where it applies; other countries differ). Setwell measures no vapour, and starts and stops nothing.',
  'note.follow':
    'Follow the safety data sheet, your employer’s rules and the local code; licensed people judge.',
};
