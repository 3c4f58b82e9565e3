import Database from 'better-sqlite3';
import { connectBroker } from '@setwell/collector/intake/broker-client';
import { startBuiltInBroker } from '@setwell/collector/intake/built-in-broker';
import { Intake, type Arrival } from '@setwell/collector/intake/intake';
import { openJournal } from '@setwell/collector/journal/journal';
import { SystemClock } from '@setwell/collector/system-clock';
import { wallClock } from '@setwell/shared-models/api/clock';
import { smallPlant } from '../fixtures/small-plant.ts';

/**
 * A collector as a process of its own, to be killed or watched from outside:
 * `collecting.ts JOURNAL (outside|built-in) PORT [as-built|unsynced|hasty]`
 *
 * The last two are made wrong from here, so that the product carries no switch for it: the database
 * is told not to sync, or what has arrived is acknowledged first and stored later.
 */
const [path = '', bus, port, how = 'as-built'] = process.argv.slice(2);

if (how === 'unsynced') {
  const pragma = Database.prototype.pragma;
  Database.prototype.pragma = function (source: string, options?: Database.PragmaOptions) {
    if (source === 'synchronous = FULL') return pragma.call(this, 'synchronous = OFF', options);
    return source === 'synchronous' ? 2 : pragma.call(this, source, options);
  };
}

/** Returns before anything is stored. */
class HastyIntake extends Intake {
  override accept(arrivals: Arrival[]) {
    setImmediate(() => super.accept(arrivals));
    return [];
  }
}

const clock = new SystemClock(wallClock);
const parts = { plant: smallPlant(), journal: openJournal(path), clock };
const intake = how === 'hasty' ? new HastyIntake(parts) : new Intake(parts);
const started =
  bus === 'built-in'
    ? await startBuiltInBroker({ collector: 'c1', intake, clock, port: Number(port) })
    : connectBroker({ url: `mqtt://127.0.0.1:${port}` }, { collector: 'c1', intake, clock });
const tell = ({ connected }: { connected: boolean }) => {
  if (connected) process.stdout.write(`${process.pid} connected\n`);
};
started.onStatus(tell);
tell(started.status());
