import type { told as original } from '../en/told.ts';

export const told: Record<keyof typeof original, string> = {
  'told.title': 'Wem abseits der Bildschirme gesagt wird',
  'told.nobody':
    'Niemandem: plant.yaml nennt unter tell keinen Weg. Ein Weg ist eine E-Mail, ein signierter Webhook oder ein Thema für eine Lampe.',
  'told.route': '{id}: {by} an {who}',
  'told.by.mail': 'E-Mail',
  'told.by.webhook': 'Webhook',
  'told.by.lamp': 'Lampe',
  'told.test': 'Probe senden',
  'told.testOf': 'Probe senden über {route}',
  'told.tested': 'Eine Probe ist unterwegs: die Liste sagt, was aus ihr wird.',
  'told.messages': 'Nachrichten, die neueste zuerst',
  'told.col.made': 'fällig seit',
  'told.col.route': 'Weg',
  'told.col.what': 'was sie sagt',
  'told.col.how': 'wie es steht',
  'told.isTest': 'eine Probe',
  'told.forgotten': 'Rufe von früher',
  'told.sent': 'gesendet {clock}',
  'told.givenUp': 'aufgegeben {clock}: {fault}',
  'told.again': 'Versuche: {n}, wieder {clock}: {fault}',
  'told.waits': 'wartet bis {clock}',
  'told.onItsWay': 'unterwegs',
};
