/**
 * The server of the desk: one page, its own files and the text of one scenario, for this computer only. Whatever asks
 * under another name than its own (a page elsewhere whose name was bent to this address) is refused.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';

/** Nothing but the page's own files; no code from text, no frame around it, nowhere to send anything. */
const POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob: data:",
  "connect-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

const HEADERS = {
  'Content-Security-Policy': POLICY,
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Cache-Control': 'no-store',
} as const;

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
};

/** The address people see. */
const HOST = '127.0.0.1';

/** What the page asks for when it opens. */
export interface DeskScenario {
  readonly file: string;
  readonly text: string;
}

export interface Desk {
  readonly server: Server;
  /** "http://127.0.0.1:40123/" */
  readonly address: string;
}

/**
 * Starts serving. Errors: those of the operating system, for instance EADDRINUSE.
 *
 * @param folder of the built page; its files are read now and nothing else is ever served
 * @param port 0 for any free one
 * @param scenario asked at each loading of the page: the scenario, or one line about why it cannot be read
 */
export function serveDesk(
  folder: string,
  port: number,
  scenario: () => Promise<DeskScenario | { readonly problem: string }>,
): Promise<Desk> {
  const files = new Map<string, { type: string; body: Buffer }>();
  for (const entry of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const type = TYPES[path.extname(entry.name)];
    if (!entry.isFile() || type === undefined) continue;
    const place = path.join(entry.parentPath ?? entry.path, entry.name);
    files.set(`/${path.relative(folder, place).split(path.sep).join('/')}`, { type, body: readFileSync(place) });
  }
  const index = files.get('/index.html');
  if (index !== undefined) files.set('/', index);

  let names: readonly string[] = [];

  async function answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const send = (status: number, type: string, body: string | Buffer, more: Readonly<Record<string, string>> = {}) => {
      response.writeHead(status, {
        ...HEADERS,
        ...more,
        'Content-Type': type,
        'Content-Length': Buffer.byteLength(body),
      });
      response.end(request.method === 'HEAD' ? undefined : body);
    };
    const refuse = (status: number, why: string, more?: Readonly<Record<string, string>>) =>
      send(status, 'text/plain; charset=utf-8', `${why}\n`, more);
    const { host = '', origin } = request.headers;
    if (!names.includes(host.toLowerCase())) return refuse(403, 'The desk answers only to its own address.');
    if (origin !== undefined && !names.some((name) => origin.toLowerCase() === `http://${name}`))
      return refuse(403, 'The desk answers only to its own page.');
    if (request.method !== 'GET' && request.method !== 'HEAD')
      return refuse(405, 'The desk can only be read.', { Allow: 'GET, HEAD' });
    const asked = (request.url ?? '').split('?')[0] ?? '';
    if (asked === '/scenario.json') return send(200, 'application/json', JSON.stringify(await scenario()));
    const file = files.get(asked);
    if (file === undefined) return refuse(404, 'There is nothing here by that name.');
    send(200, file.type, file.body);
  }

  const server = createServer((request, response) => {
    answer(request, response).catch(() => response.destroy());
  });
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, HOST, () => {
      const { port: taken } = server.address() as AddressInfo;
      names = [`${HOST}:${taken}`, `localhost:${taken}`];
      // A browser leaves the usual port out.
      if (taken === 80) names = [...names, HOST, 'localhost'];
      resolve({ server, address: `http://${HOST}:${taken}/` });
    });
  });
}
