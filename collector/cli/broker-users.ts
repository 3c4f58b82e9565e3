import { mkdirSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { readPlant } from '@setwell/shared-models/plant/read-plant';
import type { Command } from 'commander';
import { aclFile, brokerUsers, passwordFile } from './broker-rights.ts';
import { answered, type Answer } from './answer.ts';
import { readOwnFile } from './own-file.ts';

export function registerBrokerUsers(program: Command): void {
  program
    .command('broker-users')
    .description('users, passwords and topic rights for a Mosquitto of the plant’s own')
    .requiredOption('--plant <file>', 'plant.yaml')
    .option('--collector <id...>', 'collectors that record', ['c1'])
    .option('--out <folder>', 'where the files lie', 'broker')
    .action(answered(brokerUsersFor));
}

function brokerUsersFor({
  plant,
  collector,
  out,
}: {
  plant: string;
  collector: string[];
  out: string;
}): Answer {
  const users = brokerUsers(readOwnFile(plant, readPlant, 'a plant'), collector);
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const files = {
    acl: join(folder, 'setwell.acl'),
    passwords: join(folder, 'setwell.passwords'),
    secrets: join(folder, 'secrets'),
  };
  mkdirSync(files.secrets, { recursive: true, mode: 0o700 });
  writeFileSync(files.acl, aclFile(users), { mode: 0o600 });
  writeFileSync(files.passwords, passwordFile(users), { mode: 0o600 });
  for (const { name, password } of users) {
    writeFileSync(join(files.secrets, name), `${password}\n`, { mode: 0o600 });
  }
  const document = { files, users: users.map(({ name, rights }) => ({ name, rights })) };
  const text = [
    `rights      ${files.acl}`,
    `passwords   ${files.passwords}   (hashed, for the broker)`,
    `secrets     ${files.secrets}   one file a user: bring each to its gateway, then delete it here`,
    '',
    ...users.map(({ name, rights }) => `${name.padEnd(11)} ${rights.join(' · ')}`),
  ].join('\n');
  return { document, text };
}
