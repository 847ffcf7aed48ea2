/** `desk`: the page to tune at, served to the browser of this computer. */
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { serveDesk } from './deskServer.ts';
import { Exit } from './exitCodes.ts';
import { nameOf, readScenarioText, STANDARD_INPUT } from './input.ts';
import { isSystemError, say, systemReason, warn } from './terminal.ts';

export interface DeskCommandOptions {
  readonly port?: number | undefined;
  readonly open: boolean;
}

const PAGE = fileURLToPath(new URL('../web/desk-page/', import.meta.url));
const DEMO = fileURLToPath(new URL('../../scenarios/mill-creek.yaml', import.meta.url));

export async function deskCommand(file: string | undefined, options: DeskCommandOptions): Promise<Exit> {
  const asked = file ?? DEMO;
  const first = await readScenarioText(asked);
  if ('problem' in first) {
    warn(first.problem);
    return Exit.refused;
  }
  if (!existsSync(PAGE)) {
    warn('the page of the desk is missing from this installation; build or install it again');
    return Exit.refused;
  }
  const name = file === undefined ? 'mill-creek.yaml' : nameOf(file);
  const scenario = async () => {
    // Standard input is there once; a file may have been changed in an editor since.
    const input = asked === STANDARD_INPUT ? first : await readScenarioText(asked);
    return 'problem' in input ? input : { file: name, text: input.text };
  };
  try {
    const { server, address } = await serveDesk(PAGE, options.port ?? 0, scenario);
    const interrupted = new Promise<void>((resolve) => process.once('SIGINT', resolve));
    say(`The desk is at ${address} until Ctrl-C. Only this computer can reach it.\n`);
    if (options.open) openBrowser(address);
    await interrupted;
    server.close();
    server.closeAllConnections();
    return Exit.met;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    const port = options.port ?? 0;
    warn(
      error.code === 'EADDRINUSE'
        ? `port ${port} is taken by another program; give another --port, or none for a free one`
        : error.code === 'EACCES'
          ? `port ${port} is not open to you; give one from 1024 to 65535, or none for a free one`
          : `the desk cannot be served: ${systemReason(error)}`,
    );
    return Exit.refused;
  }
}

/** Asks the system for its browser; where that fails the address stands on the terminal. */
function openBrowser(address: string): void {
  const [program, ...args] =
    process.platform === 'darwin'
      ? ['open', address]
      : process.platform === 'win32'
        ? ['rundll32', 'url.dll,FileProtocolHandler', address]
        : ['xdg-open', address];
  spawn(program as string, args, { stdio: 'ignore', detached: true })
    .on('error', () => warn(`no browser could be opened; open ${address} yourself`))
    .unref();
}
