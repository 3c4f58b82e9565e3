import { createHash } from 'node:crypto';
import { fileURLToPath } from 'node:url';
import { build } from 'esbuild';

const here = fileURLToPath(new URL('..', import.meta.url));

const licence = `// Setwell, the score: Apache-2.0. The exponential is a port of fdlibm's,
// Copyright (C) 2004 by Sun Microsystems, Inc. Permission to use, copy, modify, and distribute this
// software is freely granted, provided that this notice is preserved.`;

/** Run by hand the file reads two files and prints the result's own bytes; imported it reads nothing. */
const byHand = `
// node score.mjs input.json readings.csv
if (typeof process === "object" && process.argv !== undefined && process.argv[1] !== undefined) {
  const { pathToFileURL } = await import("node:url");
  const { readFileSync, realpathSync } = await import("node:fs");
  if (import.meta.url === pathToFileURL(realpathSync(process.argv[1])).href) {
    const [inputFile, readingsFile] = process.argv.slice(2);
    if (readingsFile === undefined) {
      process.stderr.write("expected: node score.mjs input.json readings.csv\\n");
      process.exit(2);
    }
    const input = JSON.parse(readFileSync(inputFile, "utf8"));
    process.stdout.write(canonicalJson(score(input, readFileSync(readingsFile, "utf8"))));
  }
}
`;

/**
 * The model as one file, unminified: score and all it needs, from the sources below a folder. The same
 * sources give the same bytes in any folder; the bundler's version is pinned for that.
 *
 * @param {string} root of the sources
 * @param {{ file: string, text: string } | null} instead another text for one file below shared-models: how
 *   a deliberately wrong score is tried
 * @returns {Promise<{ bytes: Buffer, sha256: string, modules: string[] }>} modules below `root`, sorted
 */
export async function buildModel(root = here, instead = null) {
  const { outputFiles, metafile } = await build({
    absWorkingDir: root,
    entryPoints: ['shared-models/score/model.ts'],
    bundle: true,
    format: 'esm',
    platform: 'neutral',
    target: 'es2022',
    charset: 'utf8',
    legalComments: 'none',
    banner: { js: licence },
    footer: { js: byHand },
    plugins: instead === null ? [] : [replacing(instead)],
    metafile: true,
    write: false,
    tsconfigRaw: '{}',
  });
  const bytes = Buffer.from(outputFiles[0].contents);
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  return { bytes, sha256, modules: Object.keys(metafile.inputs).sort() };
}

/** @param {{ file: string, text: string }} instead */
function replacing({ file, text }) {
  return {
    name: 'replacing',
    setup: ({ onLoad }) =>
      onLoad({ filter: /\.ts$/ }, ({ path }) =>
        path.endsWith(`shared-models/${file}`) ? { contents: text, loader: 'ts' } : undefined,
      ),
  };
}
