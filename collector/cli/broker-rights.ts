import { pbkdf2Sync, randomBytes } from 'node:crypto';
import type { Plant } from '@setwell/shared-models/plant/plant';
import { topicRights } from '../intake/topic-rights.ts';

export interface BrokerUser {
  name: string;
  password: string;
  /** Topic rights in the words of Mosquitto's acl_file. */
  rights: string[];
}

const iterations = 101;

/** The plant's users, each with a new password. */
export function brokerUsers(plant: Plant, collectors: string[]): BrokerUser[] {
  return topicRights(plant, collectors).map(({ name, writes, reads }) => ({
    name,
    password: randomBytes(24).toString('base64url'),
    rights: [
      ...reads.filter((topic) => !writes.includes(topic)).map((topic) => `topic read ${topic}`),
      ...writes.map((topic) => `topic ${reads.includes(topic) ? 'readwrite' : 'write'} ${topic}`),
    ],
  }));
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
