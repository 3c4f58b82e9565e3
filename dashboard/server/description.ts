import { z } from 'zod';
import type { Operation } from './operation.ts';

interface Parameter {
  name: string;
  in: 'path' | 'query';
  required: boolean;
  schema: unknown;
}

interface Described {
  summary: string;
  parameters?: Parameter[];
  requestBody?: unknown;
  responses: Record<string, unknown>;
}

const problem = {
  description: 'A refusal (RFC 9457)',
  content: { 'application/problem+json': { schema: { $ref: '#/components/schemas/Problem' } } },
};

/** The interface as OpenAPI 3.1, from the same operations that are served. */
export function openApi(operations: Operation[], version: string): object {
  const paths: Record<string, Record<string, Described>> = {};
  for (const op of operations) {
    const described: Described = {
      summary: op.summary,
      parameters: [...pathParameters(op.path), ...queryParameters(op.query)],
      responses: {
        '200': {
          description: op.answer,
          content: { [op.type ?? 'application/json']: {} },
        },
        default: problem,
      },
    };
    if (op.body !== undefined) {
      described.requestBody = {
        required: true,
        content: { 'application/json': { schema: jsonSchema(op.body) } },
      };
    }
    (paths[op.path] ??= {})[op.method] = described;
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Setwell dashboard',
      version,
      description:
        'Times are milliseconds since the epoch, temperatures °C; names carry their unit. Setwell advises; it opens and locks nothing.',
    },
    servers: [{ url: '/api/v1' }],
    paths,
    components: {
      schemas: {
        Problem: {
          type: 'object',
          required: ['type', 'title', 'status', 'code'],
          properties: {
            type: { type: 'string' },
            title: { type: 'string' },
            status: { type: 'integer' },
            code: { type: 'string' },
          },
        },
      },
    },
  };
}

function jsonSchema(schema: z.ZodType): Record<string, unknown> {
  const described = { ...z.toJSONSchema(schema, { io: 'input', unrepresentable: 'any' }) };
  delete described.$schema; // OpenAPI names the dialect once, for all
  return described;
}

function pathParameters(path: string): Parameter[] {
  return [...path.matchAll(/\{(\w+)\}/g)].map(([, name]) => ({
    name: name ?? '',
    in: 'path',
    required: true,
    schema: { type: 'string', maxLength: 120 },
  }));
}

function queryParameters(query: z.ZodObject | undefined): Parameter[] {
  if (query === undefined) return [];
  const schema = jsonSchema(query) as {
    properties?: Record<string, unknown>;
    required?: string[];
  };
  return Object.entries(schema.properties ?? {}).map(([name, value]) => ({
    name,
    in: 'query',
    required: schema.required?.includes(name) ?? false,
    schema: value,
  }));
}

const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');

/** The same, to read: one table, no script. */
export function readableDescription(operations: Operation[], version: string): string {
  const rows = operations
    .map((op) => {
      const inputs = [
        ...queryParameters(op.query).map(({ name, required }) => `?${name}${required ? ' *' : ''}`),
        ...Object.keys(op.body?.shape ?? {}),
      ];
      const cells = [
        `<code>${op.method.toUpperCase()} /api/v1${escaped(op.path)}</code>`,
        escaped(op.summary),
        inputs.map((name) => `<code>${escaped(name)}</code>`).join(', ') || '–',
        escaped(op.answer),
      ];
      return `<tr>${cells.map((cell) => `<td>${cell}</td>`).join('')}</tr>`;
    })
    .join('\n');
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<title>Setwell: the interface</title></head>
<body><main><h1>Setwell, the interface</h1>
<p>Version ${escaped(version)}. The same for machines: <a href="/api/v1/openapi.json">openapi.json</a>.
Times are milliseconds since the epoch, temperatures °C; a name ends with its unit. Refusals are
<code>application/problem+json</code> with a <code>code</code>. Lists take <code>limit</code> (1,000 at most) and an opaque <code>cursor</code>.</p>
<table><thead><tr><th>request</th><th>what for</th><th>input</th><th>answer</th></tr></thead>
<tbody>${rows}</tbody></table></main></body></html>`;
}
