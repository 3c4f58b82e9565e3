import { readFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import type { Bus } from './bus.ts';
import { connectBroker, type BrokerAddress } from './broker-client.ts';
import { BrokerEntry, readPasswords } from './broker-entry.ts';
import { startBuiltInBroker, type BrokerNetwork } from './built-in-broker.ts';
import type { Plant } from '@setwell/shared-models/plant/plant';
import type { Clock } from '../clock.ts';
import type { Metrics } from '../metrics.ts';
import type { Intake } from './intake.ts';
import { topicRights } from './topic-rights.ts';

/** What a bus needs of its collector. */
export interface BusParts {
  plant: Plant;
  collector: string;
  intake: Intake;
  clock: Clock;
  metrics: Metrics;
  expectsSession: boolean;
  onSessionLost: () => void;
}

/**
 * The broker that the plant's file names, or the one built in.
 *
 * @param port in place of the file's, where another broker has that one already
 * @throws Error with code EADDRINUSE or ENOENT: a port that is taken, a secret that is not there
 */
export function plantBus(
  plantFile: string,
  port: number | null,
): (parts: BusParts) => Bus | Promise<Bus> {
  return (parts) => {
    const { broker } = parts.plant;
    if ('builtIn' in broker) {
      const own = { ...parts, port: port ?? broker.port };
      return startBuiltInBroker({ ...own, ...networkOf(broker, parts, plantFile) });
    }
    return connectBroker(brokerAddress(broker, plantFile), parts);
  };
}

/**
 * How the plant's network comes in at the built-in broker; nothing where this machine alone does.
 *
 * @throws Error with code ENOENT where a file is missing, RangeError naming a line of the passwords
 */
function networkOf(
  broker: Extract<Plant['broker'], { builtIn: true }>,
  { plant, collector }: BusParts,
  plantFile: string,
): { network?: BrokerNetwork } {
  const { address = '127.0.0.1', certificateFile, keyFile, passwordsFile, clientsCaFile } = broker;
  if (certificateFile === undefined || keyFile === undefined) return {};
  const read = (file: string) => readFileSync(resolve(dirname(plantFile), file));
  const passwords =
    passwordsFile === undefined ? null : readPasswords(read(passwordsFile).toString('utf8'));
  return {
    network: {
      address,
      certificate: read(certificateFile),
      key: read(keyFile),
      ...(clientsCaFile === undefined ? {} : { clientsCa: read(clientsCaFile) }),
      entry: new BrokerEntry(topicRights(plant, [collector]), passwords),
    },
  };
}

/**
 * The address of a broker elsewhere, with the secrets that stand in files beside the plant's.
 *
 * @throws Error with code ENOENT where one is missing
 */
export function brokerAddress(
  broker: Exclude<Plant['broker'], { builtIn: true }>,
  plantFile: string,
): BrokerAddress {
  const { url, username, passwordFile, caFile, certificateFile, keyFile } = broker;
  const read = (file: string) => readFileSync(resolve(dirname(plantFile), file));
  return {
    url,
    ...(username === undefined ? {} : { username }),
    ...(passwordFile === undefined ? {} : { password: read(passwordFile).toString('utf8').trim() }),
    ...(caFile === undefined ? {} : { ca: read(caFile) }),
    ...(certificateFile === undefined ? {} : { certificate: read(certificateFile) }),
    ...(keyFile === undefined ? {} : { key: read(keyFile) }),
  };
}
