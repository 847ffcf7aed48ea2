/** Runs the command in a folder of its own: compiled, in a process, or from source in this one. */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { vi } from 'vitest';
import { run } from '../../bin/commands.ts';

export const PROGRAM = fileURLToPath(new URL('../../dist/bin/tripstroke.js', import.meta.url));

/** Left out, so that the command runs as for a user who has set nothing. */
const OF_THE_TESTER = ['NO_COLOR', 'FORCE_COLOR', 'NODE_OPTIONS', 'TRIPSTROKE_DEBUG'];

export interface Ended {
  readonly code: number | null;
  readonly signal: NodeJS.Signals | null;
  readonly stdout: string;
  readonly stderr: string;
}

export interface RunOptions {
  readonly env?: Readonly<Record<string, string>>;
  readonly input?: string | Buffer;
  /** Another program than the one built here. */
  readonly program?: string;
  /** Called when the process has been started. */
  readonly started?: (child: ChildProcess) => void;
}

/** A folder that can be filled with scenarios, and the command in it. */
export class Workplace {
  readonly folder = mkdtempSync(path.join(tmpdir(), 'tripstroke-test-'));

  at(...parts: string[]): string {
    return path.join(this.folder, ...parts);
  }

  write(name: string, text: string | Buffer): void {
    writeFileSync(this.at(name), text);
  }

  remove(): void {
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** In this process, where everything is warm: what is said, and the exit code. For what needs no process of its own. */
  async here(args: readonly string[]): Promise<Ended> {
    let [stdout, stderr] = ['', ''];
    const before = process.cwd();
    for (const name of OF_THE_TESTER) vi.stubEnv(name, undefined);
    const spies = [
      vi.spyOn(process.stdout, 'write').mockImplementation((part) => (stdout += String(part)) !== ''),
      vi.spyOn(process.stderr, 'write').mockImplementation((part) => (stderr += String(part)) !== ''),
    ];
    process.chdir(this.folder);
    try {
      return { code: await run(args), signal: null, stdout, stderr };
    } finally {
      process.chdir(before);
      for (const spy of spies) spy.mockRestore();
      vi.unstubAllEnvs();
    }
  }

  run(args: readonly string[], options: RunOptions = {}): Promise<Ended> {
    const clean = { ...process.env };
    for (const name of OF_THE_TESTER) delete clean[name];
    const child = spawn(process.execPath, [options.program ?? PROGRAM, ...args], {
      cwd: this.folder,
      env: { ...clean, ...options.env },
      stdio: ['pipe', 'pipe', 'pipe'],
    });
    let stdout = '';
    let stderr = '';
    child.stdout.setEncoding('utf-8').on('data', (part: string) => {
      stdout += part;
    });
    child.stderr.setEncoding('utf-8').on('data', (part: string) => {
      stderr += part;
    });
    // A program that refuses its input closes it early.
    child.stdin.on('error', () => {});
    child.stdin.end(options.input ?? '');
    options.started?.(child);
    return new Promise((resolve, reject) => {
      child.on('error', reject);
      child.on('close', (code, signal) => resolve({ code, signal, stdout, stderr }));
    });
  }
}

/** One valve on a closed tank, with a great deal to spare. */
export const PASSING = `title: Hand-made skid
site: { barometer: 14.7 psia, temperature: 68 degF }
oil: { grade: 46 }
tank: { volume: 45 gal, outletLevel: 3 in }
sump: { capacity: 70 gal, depth: 20 in }
valves:
  - tag: XV-7
    service: feed shut-off
    bore: 5 in
    rod: 2 in
    stroke: 9 in
    load: { opening: 900 lbf, closing: 1100 lbf }
    friction: { running: 60 lbf, breakaway: 90 lbf }
    supplyLine: { flowCoefficient: Cv 2.2 }
    position: 100 %
    onTrip: closes
    require: { longest: 25 s, margin: 5 % }
power: { lostAt: 1 s }
start: { pressure: 118 psig, oil: 19 gal }
`;

/** The same with too little pressure: 60 psig on the rod side, (5^2 - 2^2) pi/4 in^2, is 990 lbf against 1190 lbf. */
export const FAILING = PASSING.replace('118 psig', '60 psig');

/** Takes minutes: most of a year with a compressor that makes up for a leak. */
export const ENDLESS = `${PASSING}run: { duration: 360 d, sample: 6 h }
leaks: { air: { fall: 40 psi/h, at: 100 psig } }
compressors: [{ tag: K-1, freeAir: 2 ft^3/min }]
panel: { pressure: { cutIn: 105 psig, cutOut: 112 psig }, level: { normal: 9 in, dutyStart: 8 in } }
`.replace('lostAt: 1 s', 'lostAt: 359 d');
