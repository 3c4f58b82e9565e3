import { createHash, createPublicKey, verify, type KeyObject } from 'node:crypto';

/** A text with signatures under it. @source C2SP signed-note */
export interface SignedNote {
  /** With its last line feed, as it was signed. */
  text: string;
  signatures: { name: string; id: string; signature: Buffer }[];
}

/** A public key as it is printed and handed on: `<name>+<id>+<key>`. */
export interface VerifierKey {
  name: string;
  /** First four bytes of SHA-256(name ‖ LF ‖ algorithm ‖ public key), hex. */
  id: string;
  /** Ed25519, 32 bytes. */
  publicKey: Buffer;
  text: string;
}

const ed25519 = 1;
const signatureBytes = 64;
/** DER of an Ed25519 public key before its 32 bytes. @source RFC 8410, 4 */
const spkiPrefix = Buffer.from('302a300506032b6570032100', 'hex');
/** Signatures under a note: ours has one; a witness or two may be added. */
const mostSignatures = 16;
const dash = '\u2014';

/** @throws RangeError for a key that is not 32 bytes or a name that cannot stand in a note */
export function verifierKey(name: string, publicKey: Buffer): VerifierKey {
  if (!isName(name)) throw new RangeError(`a key's name is not ${JSON.stringify(name)}`);
  if (publicKey.length !== 32) throw new RangeError(`${publicKey.length} bytes are no Ed25519 key`);
  const typed = Buffer.concat([Buffer.of(ed25519), publicKey]);
  const id = createHash('sha256').update(`${name}\n`).update(typed).digest('hex').slice(0, 8);
  return { name, id, publicKey, text: `${name}+${id}+${typed.toString('base64')}` };
}

/** @returns null for what is no Ed25519 verifier key, or one whose id is not its own */
export function parseVerifierKey(text: string): VerifierKey | null {
  const [name, id, key, ...rest] = splitKey(text.trim());
  if (name === undefined || id === undefined || key === undefined || rest.length > 0) return null;
  const typed = base64(key);
  if (!isName(name) || typed?.length !== 33 || typed[0] !== ed25519) return null;
  const found = verifierKey(name, typed.subarray(1));
  return found.id === id ? found : null;
}

/** The signature's line under a note. */
export function signatureLine(key: VerifierKey, signature: Buffer): string {
  const signed = Buffer.concat([Buffer.from(key.id, 'hex'), signature]);
  return `${dash} ${key.name} ${signed.toString('base64')}\n`;
}

/** @returns null for a text that is no signed note, whoever signed it */
export function parseNote(note: string): SignedNote | null {
  const middle = note.lastIndexOf('\n\n');
  if (middle === -1 || !note.endsWith('\n')) return null;
  const text = note.slice(0, middle + 1);
  const lines = note.slice(middle + 2, -1).split('\n');
  // No control character but the line feed may stand in a note.
  if (/[\u0000-\u0009\u000b-\u001f]/.test(note) || lines.length > mostSignatures) return null;
  const signatures: SignedNote['signatures'] = [];
  for (const line of lines) {
    const [mark, name, signed, ...rest] = line.split(' ');
    const bytes = signed === undefined ? null : base64(signed);
    if (mark !== dash || name === undefined || !isName(name) || rest.length > 0) return null;
    if (bytes === null || bytes.length < 5) return null;
    const id = bytes.subarray(0, 4).toString('hex');
    signatures.push({ name, id, signature: bytes.subarray(4) });
  }
  return { text, signatures };
}

/** Whether one of the note's signatures is this key's, and right. */
export function isSignedBy(note: SignedNote, key: VerifierKey): boolean {
  const own = note.signatures.find(({ name, id }) => name === key.name && id === key.id);
  if (own?.signature.length !== signatureBytes) return false;
  return verify(null, Buffer.from(note.text), publicKeyOf(key), own.signature);
}

/** As `openssl` takes it. */
export function publicKeyPem(key: VerifierKey): string {
  return publicKeyOf(key).export({ format: 'pem', type: 'spki' }).toString();
}

function publicKeyOf({ publicKey }: VerifierKey): KeyObject {
  const key = Buffer.concat([spkiPrefix, publicKey]);
  return createPublicKey({ key, format: 'der', type: 'spki' });
}

/** A name may hold what it likes but spaces and pluses; base64 may hold pluses. */
function splitKey(text: string): string[] {
  const first = text.indexOf('+');
  const second = text.indexOf('+', first + 1);
  if (first === -1 || second === -1) return [];
  return [text.slice(0, first), text.slice(first + 1, second), text.slice(second + 1)];
}

function isName(name: string): boolean {
  return name !== '' && !/[\s+]/u.test(name);
}

/** Strict: what Node would read past is refused. */
function base64(text: string): Buffer | null {
  const bytes = Buffer.from(text, 'base64');
  return bytes.toString('base64') === text ? bytes : null;
}
