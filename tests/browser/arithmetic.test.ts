import { existsSync, readFileSync } from 'node:fs';
import ts from 'typescript';
import { expect, test } from 'vitest';
import { launch } from './harness.ts';

const root = new URL('../..', import.meta.url);
const origin = 'http://setwell.invalid';

/** A source file as a browser can read it. */
function moduleOf(path: string): string | null {
  const file = [path, `${path}.ts`].map((each) => new URL(`.${each}`, root)).find(existsSync);
  if (file === undefined) return null;
  return ts.transpileModule(readFileSync(file, 'utf8'), {
    compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext },
  }).outputText;
}

const page = `<!doctype html><script type="importmap">
  { "imports": { "@setwell/shared-models/": "/shared-models/" } }
</script>`;

test('the same bits in a browser: a load scored on a screen is the load scored in the plant', async () => {
  const browser = await launch();
  try {
    const tab = await browser.newPage();
    // Nothing is fetched: every request is answered from the sources.
    await tab.route('**/*', async (route) => {
      const { pathname } = new URL(route.request().url());
      if (pathname === '/') return route.fulfill({ contentType: 'text/html', body: page });
      const body = moduleOf(pathname);
      return body === null
        ? route.fulfill({ status: 404 })
        : route.fulfill({ contentType: 'text/javascript', body });
    });
    await tab.goto(`${origin}/`);
    const digests = await tab.evaluate(
      `import('/tests/bounds/arithmetic-digests.ts').then((made) => made.arithmeticDigests())`,
    );
    expect(digests).toEqual(
      JSON.parse(readFileSync(new URL('tests/fixtures/arithmetic/bits.json', root), 'utf8')),
    );
  } finally {
    await browser.close();
  }
}, 60_000);
