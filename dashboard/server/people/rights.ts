import type { Job, Right } from '@setwell/shared-models/api/people';

export const rightsOfJob: Record<Job, readonly Right[]> = {
  'shift-lead': ['open', 'look', 'floor', 'decide'],
  maintenance: ['open', 'look', 'floor', 'maintain'],
  engineer: ['open', 'look', 'floor', 'maintain', 'decide', 'engineer', 'audit'],
  auditor: ['open', 'look', 'audit'],
  administrator: ['open', 'look', 'audit', 'administer'],
};

/**
 * Who has this right reads every hall: records, ledger and bundles are one for the plant. Anybody else
 * reads the halls that he was given, as `HallReach` keeps them apart.
 */
export const readsEveryHall: Right = 'audit';

/** Every route and the right it asks for. A route without a row is not served at all. */
export const rightOfRoute: Record<string, Right> = {
  'get /health': 'look',
  'get /stations': 'look',
  'get /loads': 'look',
  'get /loads/{id}': 'look',
  'get /loads/{id}/series': 'look',
  'get /readings': 'look',
  'get /readings/stream': 'look',
  'get /points': 'look',
  'get /calls': 'look',
  'get /handover': 'look',
  'get /instruments': 'look',
  'get /impact': 'look',
  'get /instruments/due': 'look',
  'get /instruments/due.ics': 'look',
  'get /points/{id}': 'look',
  'post /points/{id}/fit': 'maintain',
  'post /points/{id}/remove': 'maintain',
  'post /points/{id}/withdraw': 'maintain',
  'post /points/{id}/restore': 'maintain',
  'post /points/{id}/prove': 'maintain',
  'post /points/{id}/fallback': 'engineer',
  'post /instruments/{id}/calibration': 'maintain',
  'get /lots': 'look',
  'get /outbox': 'audit',
  'get /lots/{id}': 'look',
  'get /lots/{id}/parts/{part}': 'look',
  'get /recipes': 'look',
  'get /recipes/{id}': 'look',
  'get /search': 'look',
  'get /rejects': 'look',
  'get /heat-ups': 'look',
  'get /heat-ups/{station}': 'look',
  'get /heat-ups/{station}/{point}': 'look',
  'post /stations/{station}/work': 'maintain',
  'post /stations/{station}/work/done': 'maintain',
  'post /stations/{station}/work/{work}/close': 'maintain',
  'post /stations/{station}/limits': 'engineer',
  'get /surveys/{station}': 'look',
  'get /surveys/{station}/soak': 'look',
  'get /surveys/{station}/plan': 'look',
  'get /surveys/{station}/{survey}/sheet': 'look',
  'post /stations/{station}/surveys': 'maintain',
  'post /stations/{station}/place': 'engineer',
  'post /me/here': 'open',
  'get /stream': 'look',
  'get /checkpoint': 'look',
  'get /lots/{id}/retention': 'audit',
  'get /records/period': 'audit',
  'post /lots/{id}/legal-hold': 'administer',
  'post /lots/{id}/legal-hold/lift': 'administer',
  'get /ledger': 'audit',
  'get /lots/{id}/file': 'audit',
  'get /records': 'audit',
  'get /records/completeness': 'audit',
  'get /records/sample': 'audit',
  'get /records/trail': 'audit',
  'post /calls/{id}/acknowledge': 'floor',
  'post /calls/{id}/shelve': 'floor',
  'post /calls/{id}/unshelve': 'floor',
  'post /calls/{id}/void': 'floor',
  'post /loads/{id}/disposition': 'decide',
  'post /loads/{id}/undo': 'floor',
  'post /loads/{id}/note': 'floor',
  'post /loads/{id}/correct': 'floor',
  'post /stations/{id}/state': 'floor',
  'post /handover/read': 'floor',
  'post /outbox/test': 'administer',
  'post /loads': 'floor',
  'post /loads/{id}/end': 'floor',
  'get /me': 'open',
  'get /who': 'look',
  'post /me/password': 'open',
  'get /me/sign-ins': 'open',
  'post /me/sign-ins/end': 'open',
  'get /sign-on/begin': 'open',
  'get /sign-on/back': 'open',
  'post /setup': 'open',
  'post /sign-in': 'open',
  'post /sign-out': 'open',
  'post /identify': 'open',
  'post /sign': 'look',
  'get /people': 'audit',
  'get /people/noted': 'administer',
  'post /people': 'administer',
  'post /people/{id}/revoke': 'administer',
  'post /people/{id}/secrets': 'administer',
  'post /people/{id}/erase': 'administer',
  'get /devices': 'administer',
  'post /devices/pair': 'administer',
  'post /devices/token': 'administer',
  'post /devices/{id}/revoke': 'administer',
  'get /pairing': 'open',
};

/** What a password is given for, as good as the words over a name on paper. */
export const meanings = ['released', 'decided', 'approved', 'corrected', 'granted'] as const;
export type Meaning = (typeof meanings)[number];

/** What the password has to be given again for; null: the act asks for none. */
export function meaningFor(
  route: string,
  right: Right,
  body: Record<string, unknown>,
): Meaning | null {
  if (right !== 'decide' && right !== 'engineer' && right !== 'administer') return null;
  if (route === 'post /loads/{id}/disposition') {
    const lets = body['decision'] === 'release' || body['decision'] === 'concession';
    return lets ? 'released' : 'decided';
  }
  if (route === 'post /loads/{id}/correct') return 'corrected';
  return route.startsWith('post /people') || route.startsWith('post /devices')
    ? 'granted'
    : 'approved';
}

/** Where the right hangs on what is asked: to stop parts is anybody's duty, to let them go is not. */
export function rightFor(route: string, right: Right, body: Record<string, unknown>): Right {
  const holds = route === 'post /loads/{id}/disposition' && body['decision'] === 'hold';
  if (holds) return 'floor';
  return route === 'post /loads/{id}/correct' && changesAccount(body['change'])
    ? 'engineer'
    : right;
}

/** Naming a lot is the floor's; moving marks and letting late readings count changes what is proven. */
function changesAccount(change: unknown): boolean {
  const what =
    typeof change === 'object' && change !== null && 'what' in change ? change.what : null;
  return what === 'marks' || what === 'readings';
}
