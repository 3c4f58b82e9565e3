import { pbkdf2Sync, randomBytes } from 'node:crypto';
import type { Plant } from '@setwell/shared-models/plant/plant';

export interface BrokerUser {
  name: string;
  password: string;
  /** Topic rights in the words of Mosquitto's acl_file. */
  rights: string[];
}

const iterations = 101;

/**
 * One user for each station's equipment, one for each collector, one that only listens to advice.
 *
 * A station's user may write below its own station and nowhere else; a point whose topic lies
 * elsewhere gets exactly that topic.
 */
export function brokerUsers({ stations, sensors }: Plant, collectors: string[]): BrokerUser[] {
  const ofStations = stations.map(({ id }) => {
    const below = `plant/${id}/#`;
    const apart = [...sensors.values()]
      .filter(({ station, topic }) => station === id && !topic.startsWith(`plant/${id}/`))
      .map(({ topic }) => `topic write ${topic}`);
    const advice = `topic read setwell/${id}/advice`;
    return user(id, [`topic write ${below}`, ...apart, advice]);
  });
  const topics = [...new Set([...sensors.values()].map(({ topic }) => topic))].filter(
    (topic) => !topic.startsWith('plant/'),
  );
  const reads = ['topic read plant/#', ...topics.map((topic) => `topic read ${topic}`)];
  const ofCollectors = collectors.map((id) => user(id, [...reads, 'topic readwrite setwell/#']));
  return [...ofCollectors, ...ofStations, user('advice', ['topic read setwell/#'])];
}

function user(name: string, rights: string[]): BrokerUser {
  return { name, password: randomBytes(24).toString('base64url'), rights };
}

/** Mosquitto's acl_file: nobody without a name has any right. */
export function aclFile(users: BrokerUser[]): string {
  const blocks = users.map(({ name, rights }) => [`user ${name}`, ...rights].join('\n'));
  return `# Made by setwell broker-users from plant.yaml; made anew, not edited.\n\n${blocks.join('\n\n')}\n`;
}

/** Mosquitto's password_file, PBKDF2 with SHA-512 as its own mosquitto_passwd writes (format $7$). */
export function passwordFile(users: BrokerUser[]): string {
  const lines = users.map(({ name, password }) => {
    const salt = randomBytes(12);
    const key = pbkdf2Sync(password, salt, iterations, 64, 'sha512');
    const parts = ['', '7', String(iterations), salt.toString('base64'), key.toString('base64')];
    return `${name}:${parts.join('$')}`;
  });
  return `${lines.join('\n')}\n`;
}
