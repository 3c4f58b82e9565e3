import {
  Composer,
  type CST,
  type Document,
  isAlias,
  isCollection,
  isMap,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  Parser,
  type YAMLError,
} from 'yaml';
import type { Finding, Read } from './finding.ts';

export type Path = readonly (string | number)[];

/** Our deepest file has 8 levels; composing is recursive, so depth is bounded before it. */
const mostDepth = 32;
/** 20,000 points of 30 values each; aliases count as often as they are used. */
const mostValues = 1_000_000;
/** A person mends the first few and checks again. */
const mostSyntaxFindings = 20;

/** A YAML (or JSON) document whose every value can be found again in the text. */
export interface LocatedYaml {
  file: string;
  value: unknown;
  /** The text of a scalar as it is written; null for anything else. */
  written(path: Path): string | null;
  /** A finding at the value under a path, or at the nearest thing above it that exists. */
  finding(path: Path, details: FindingDetails): Finding;
  /** A finding at a key. */
  keyFinding(path: Path, details: FindingDetails): Finding;
}

export type FindingDetails = Pick<Finding, 'code' | 'found' | 'expected'> & {
  severity?: Finding['severity'];
  nearest?: string | null;
};

/**
 * One YAML 1.2 document (JSON is a part of it), with places.
 *
 * @param mostLength of the text, in characters
 */
export function readYaml(text: string, file: string, mostLength: number): Read<LocatedYaml> {
  const lines = new LineCounter();
  const at = (offset: number, details: FindingDetails, field = ''): Finding => {
    const { line, col } = lines.linePos(offset);
    const { severity = 'error', nearest, ...rest } = details;
    return {
      ...rest,
      severity,
      file,
      line: Math.max(1, line),
      column: Math.max(1, col),
      field,
      ...(nearest ? { nearest } : {}),
    };
  };
  const refused = (
    offset: number,
    code: string,
    found: string,
    expected: string,
  ): Read<LocatedYaml> => ({ ok: false, findings: [at(offset, { code, found, expected })] });

  if (text.length > mostLength) {
    return refused(0, 'too-large', `${text.length} characters`, `at most ${mostLength}`);
  }
  const tokens = [...new Parser(lines.addNewLine).parse(text.replace(/^\uFEFF/, ''))];
  const tooDeep = tokenBelow(tokens, mostDepth);
  if (tooDeep !== null) {
    return refused(tooDeep, 'too-deep', `more than ${mostDepth} levels`, 'fewer levels');
  }
  const documents = [...new Composer({ version: '1.2', logLevel: 'silent' }).compose(tokens)];
  const [document, second] = documents;
  if (document === undefined || document.contents === null) {
    const [fault] = document?.errors ?? [];
    if (fault) return { ok: false, findings: [at(fault.pos[0], syntaxDetails(fault))] };
    return refused(0, 'empty-file', 'an empty file', 'YAML');
  }
  if (second !== undefined) {
    return refused(second.range[0], 'second-document', 'a second document', 'one document a file');
  }
  const directive = document.directives.yaml;
  if (directive.explicit === true && directive.version !== '1.2') {
    return refused(0, 'yaml-version', `YAML ${directive.version}`, 'YAML 1.2, or no %YAML line');
  }
  const faults = [...document.errors, ...document.warnings].slice(0, mostSyntaxFindings);
  if (faults.length > 0) {
    return { ok: false, findings: faults.map((fault) => at(fault.pos[0], syntaxDetails(fault))) };
  }
  const plain = plainValue(document);
  if (!plain.ok) return refused(plain.offset, plain.code, plain.found, plain.expected);
  return {
    ok: true,
    findings: [],
    value: {
      file,
      value: plain.value,
      written: (path) => {
        const { node, whole } = nodeAt(document, path);
        return whole && isScalar(node) ? (node.source ?? null) : null;
      },
      finding: (path, details) => at(nodeAt(document, path).valueOffset, details, fieldOf(path)),
      keyFinding: (path, details) => at(nodeAt(document, path).keyOffset, details, fieldOf(path)),
    },
  };
}

/** A path as people write it: `stations[0].zones[1].upper`. */
export function fieldOf(path: Path): string {
  return path
    .map((part) => (typeof part === 'number' ? `[${part}]` : `.${part}`))
    .join('')
    .replace(/^\./, '');
}

function syntaxDetails(fault: YAMLError): FindingDetails {
  const found = (fault.message.split('\n')[0] ?? '').slice(0, 160);
  switch (fault.code) {
    case 'DUPLICATE_KEY':
      return { code: 'key-twice', found: 'a key twice in one place', expected: 'each key once' };
    case 'TAB_AS_INDENT':
      return { code: 'tab', found: 'a tab as indentation', expected: 'spaces' };
    case 'TAG_RESOLVE_FAILED':
      return { code: 'tag', found, expected: 'values without tags' };
    default:
      return { code: 'no-yaml', found, expected: 'well-formed YAML' };
  }
}

/** Where the text goes deeper than allowed; null if it never does. Iterative: the text may be hostile. */
function tokenBelow(tokens: CST.Token[], most: number): number | null {
  const open: { token: CST.Token | null | undefined; depth: number }[] = tokens.map((token) => ({
    token,
    depth: 0,
  }));
  for (let next = open.pop(); next !== undefined; next = open.pop()) {
    const { token, depth } = next;
    if (!token) continue;
    if (depth > most) return token.offset;
    if ('items' in token) {
      for (const { key, value } of token.items) {
        if (key) open.push({ token: key, depth: depth + 1 });
        if (value) open.push({ token: value, depth: depth + 1 });
      }
    } else if (token.type === 'document') {
      open.push({ token: token.value, depth });
    }
  }
  return null;
}

type Plain =
  | { ok: true; value: unknown }
  | { ok: false; offset: number; code: string; found: string; expected: string };

class NotPlain extends Error {
  readonly node: Node;
  readonly code: string;
  readonly found: string;
  readonly expected: string;

  constructor(node: Node, code: string, found: string, expected: string) {
    super(found);
    this.node = node;
    this.code = code;
    this.found = found;
    this.expected = expected;
  }
}

/** The document as objects, lists, texts, numbers, booleans and nulls; its aliases followed and counted. */
function plainValue(document: Document): Plain {
  const seen = new Map<Node, { value: unknown; count: number }>();
  const open = new Set<Node>();
  let values = 0;

  const convert = (node: Node): unknown => {
    if (isAlias(node)) return follow(node);
    const before = values;
    values += 1;
    if (values > mostValues) {
      throw new NotPlain(node, 'too-many-values', `over ${mostValues} values`, 'fewer');
    }
    open.add(node);
    const value = convertOwn(node);
    open.delete(node);
    if (isCollection(node) && node.anchor) seen.set(node, { value, count: values - before });
    return value;
  };
  const follow = (alias: Node): unknown => {
    const source = isAlias(alias) ? alias.resolve(document) : undefined;
    if (source === undefined)
      throw new NotPlain(alias, 'no-anchor', 'an alias', 'its anchor above');
    if (open.has(source)) throw new NotPlain(alias, 'circular', 'an alias to itself', 'a value');
    const known = seen.get(source);
    if (known === undefined) return convert(source);
    values += known.count;
    if (values > mostValues) {
      throw new NotPlain(alias, 'too-many-values', `over ${mostValues} values`, 'fewer');
    }
    return known.value;
  };
  const convertOwn = (node: Node): unknown => {
    if (isScalar(node)) return node.value;
    if (isSeq<Node>(node)) return node.items.map((item) => convert(item));
    if (!isMap<Node, Node | null>(node)) throw new NotPlain(node, 'no-yaml', 'a node', 'a value');
    return Object.fromEntries(
      node.items.map(({ key, value }) => {
        if (!isScalar(key))
          throw new NotPlain(key, 'complex-key', 'a key that is no text', 'a text');
        return [String(key.value), value === null ? null : convert(value)];
      }),
    );
  };

  try {
    return { ok: true, value: convert(document.contents as Node) };
  } catch (error) {
    if (!(error instanceof NotPlain)) throw error;
    const { node, code, found, expected } = error;
    return { ok: false, offset: node.range?.[0] ?? 0, code, found, expected };
  }
}

/** The node under a path; where the path ends early, the last one on it. */
function nodeAt(document: Document, path: Path) {
  let node = document.contents as Node;
  let keyOffset = offsetOf(node);
  let whole = true;
  for (const part of path) {
    if (isAlias(node)) node = node.resolve(document) ?? node;
    if (isMap<Node, Node | null>(node)) {
      const pair = node.items.find(({ key }) => isScalar(key) && String(key.value) === part);
      if (pair === undefined) {
        whole = false;
        break;
      }
      keyOffset = offsetOf(pair.key);
      node = pair.value ?? pair.key;
    } else if (isSeq<Node>(node) && typeof part === 'number' && part < node.items.length) {
      node = node.items[part] as Node;
      keyOffset = offsetOf(node);
    } else {
      whole = false;
      break;
    }
  }
  // A block begins on the line below its key, and people look for the key.
  const onKey = !whole || (isCollection(node) && node.flow !== true);
  return { node, whole, keyOffset, valueOffset: onKey ? keyOffset : offsetOf(node) };
}

function offsetOf(node: Node): number {
  return node.range?.[0] ?? 0;
}

/** What stands under a path; undefined where it ends early. */
export function valueAt(value: unknown, path: Path): unknown {
  let at = value;
  for (const part of path) {
    if (typeof at !== 'object' || at === null || !Object.hasOwn(at, part)) return undefined;
    at = (at as Record<string | number, unknown>)[part];
  }
  return at;
}
