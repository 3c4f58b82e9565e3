import { createServer } from 'node:http';

/**
 * A page at the program's own address while set-up runs; it goes on by itself to what answers there next.
 *
 * @param {import('./steps.mjs').Steps} steps
 * @param {number} port
 * @returns {Promise<{ close(): Promise<void> }>}
 */
export function serveWaitingPage(steps, port) {
  const server = createServer((request, response) => {
    response.setHeader('cache-control', 'no-store');
    if (request.url === '/setup.json') {
      response.setHeader('content-type', 'application/json');
      response.end(JSON.stringify({ steps: steps.list, failure: steps.failure }));
      return;
    }
    response.statusCode = request.url === '/' ? 200 : 503;
    response.setHeader('content-type', 'text/html; charset=utf-8');
    response.setHeader(
      'content-security-policy',
      "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; connect-src 'self'",
    );
    response.end(page);
  });
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, '127.0.0.1', () =>
      resolve({
        close: () =>
          new Promise((closed) => {
            server.close(() => closed());
            server.closeAllConnections();
          }),
      }),
    );
  });
}

const page = `<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Setwell is being set up</title>
<style>
  body { font: 18px/1.5 system-ui, sans-serif; max-width: 44rem; margin: 10vh auto; padding: 0 1rem; color: #111; background: #fff; }
  h1 { font-size: 1.6rem; }
  ol { padding: 0; list-style: none; }
  li { display: flex; gap: 1rem; padding: .4rem 0; border-top: 1px solid #777; }
  li b { flex: 0 0 12rem; } li span { flex: 1; } li i { font-style: normal; }
  pre { white-space: pre-wrap; border: 3px solid #111; padding: 1rem; }
  @media (prefers-color-scheme: dark) { body { color: #eee; background: #111; } pre { border-color: #eee; } }
</style>
<h1>Setwell is being set up on this machine</h1>
<p>Once, then it starts in seconds. The same steps stand in the terminal; this page goes on by itself.</p>
<ol id="steps" aria-live="polite"><li>Looking at this machine …</li></ol>
<pre id="failure" role="alert" hidden></pre>
<script>
  const list = document.getElementById('steps');
  const failure = document.getElementById('failure');
  const words = { waiting: '', running: 'now', done: 'ok', failed: 'failed' };
  function row(step) {
    const item = document.createElement('li');
    for (const [tag, text] of [
      ['b', step.title],
      ['span', step.state === 'waiting' ? step.usually : step.total ? step.done + ' of ' + step.total : step.detail],
      ['i', step.state === 'running' && step.late ? 'now, longer than usual; it goes on' : words[step.state]],
    ]) item.appendChild(document.createElement(tag)).textContent = text;
    return item;
  }
  async function look() {
    try {
      const answer = await fetch('/setup.json', { cache: 'no-store' });
      if (!(answer.headers.get('content-type') || '').startsWith('application/json') || !answer.ok)
        return location.replace('/');
      const { steps, failure: said } = await answer.json();
      if (steps.length) list.replaceChildren(...steps.map(row));
      failure.hidden = !said;
      failure.textContent = said || '';
    } catch {
      // Between set-up and the first page nobody answers for a moment.
    }
    setTimeout(look, 700);
  }
  look();
</script>
</html>
`;
