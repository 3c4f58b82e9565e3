import { createPublicKey, createPrivateKey, generateKeyPairSync, sign } from 'node:crypto';
import { chmodSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import type { KeyObject } from 'node:crypto';
import { join } from 'node:path';
import { signatureLine, verifierKey, type VerifierKey } from './signed-note.ts';

/** Signs the checkpoints of one life of a log. */
export interface SigningKey extends VerifierKey {
  /** The note: the text and the signature under it. */
  sign(text: string): string;
}

/** Where a collector's keys lie unless told otherwise: beside its data, so that a copy of the data holds none. */
export function keyFolderBeside(dataDir: string): string {
  return `${dataDir.replace(/(?<!\/)\/+$/, '')}.keys`;
}

/** Private keys, one a file, named by their id. They are never overwritten and never removed. */
export class KeyFolder {
  readonly #folder: string;

  constructor(folder: string) {
    this.#folder = folder;
  }

  /** @param name the origin of the life it signs for */
  create(name: string): SigningKey {
    const { privateKey } = generateKeyPairSync('ed25519');
    const key = signingKey(name, privateKey);
    mkdirSync(this.#folder, { recursive: true, mode: 0o700 });
    const file = this.#fileOf(key.id);
    writeFileSync(file, privateKey.export({ format: 'pem', type: 'pkcs8' }), {
      mode: 0o600,
      flag: 'wx',
    });
    // The mode above is cut by the process's mask, which may be wider than nobody else.
    chmodSync(file, 0o600);
    return key;
  }

  /** The private half of a key; null where it is not here. */
  find({ name, id, text }: VerifierKey): SigningKey | null {
    const file = this.#fileOf(id);
    if (!existsSync(file)) return null;
    const key = signingKey(name, createPrivateKey(readFileSync(file)));
    return key.text === text ? key : null;
  }

  #fileOf(id: string): string {
    return join(this.#folder, `${id}.pem`);
  }
}

function signingKey(name: string, privateKey: KeyObject): SigningKey {
  const { x } = createPublicKey(privateKey).export({ format: 'jwk' });
  const key = verifierKey(name, Buffer.from(x ?? '', 'base64url'));
  return {
    ...key,
    sign: (text) => `${text}\n${signatureLine(key, sign(null, Buffer.from(text), privateKey))}`,
  };
}
