/**
 * What a long piece of work has done so far, on disk: a line that says what work it is, then one record for every block,
 * only ever added to. A record that was cut off by a kill or a power failure is dropped when the journal is read again.
 */
import { closeSync, fsyncSync, ftruncateSync, openSync, readFileSync, writeSync } from 'node:fs';
import { crc32 } from 'node:zlib';

/** Bytes before the numbers of a record: block, bytes, checksum. */
const HEAD = 12;
/** Time between two records brought to the disk. */
const PERIOD_ms = 500;

export interface Journal {
  /** Adds a block. It is on the disk for certain half a second later, or when the journal is closed. */
  append(block: number, rows: Float64Array): void;
  close(): void;
}

export interface JournalContent {
  /** First line. */
  readonly title: string;
  readonly blocks: ReadonlyMap<number, Float64Array>;
  /** Bytes that are whole. */
  readonly length: number;
}

/** Begins a journal, in the place of one that may be there. Throws errors of the operating system. */
export function beginJournal(file: string, title: string): Journal {
  const handle = openSync(file, 'w');
  writeSync(handle, `${title}\n`);
  return writer(handle);
}

/** Goes on with a journal that was read. Throws errors of the operating system. */
export function continueJournal(file: string, content: JournalContent): Journal {
  const handle = openSync(file, 'r+');
  ftruncateSync(handle, content.length);
  return writer(handle, content.length);
}

function writer(handle: number, from?: number): Journal {
  let place = from ?? null;
  let synced = Date.now();
  return {
    append(block, rows) {
      const numbers = Buffer.from(rows.buffer, rows.byteOffset, rows.byteLength);
      const record = Buffer.alloc(HEAD + numbers.length);
      record.writeUInt32LE(block, 0);
      record.writeUInt32LE(numbers.length, 4);
      numbers.copy(record, HEAD);
      record.writeUInt32LE(checksum(record), 8);
      writeSync(handle, record, 0, record.length, place);
      if (place !== null) place += record.length;
      if (Date.now() - synced < PERIOD_ms) return;
      fsyncSync(handle);
      synced = Date.now();
    },
    close() {
      fsyncSync(handle);
      closeSync(handle);
    },
  };
}

/** Of everything but itself. */
const checksum = (record: Buffer): number => crc32(record.subarray(HEAD), crc32(record.subarray(0, 8)));

/** Reads a journal; undefined where the file is none. Throws errors of the operating system. */
export function readJournal(file: string): JournalContent | undefined {
  const bytes = readFileSync(file);
  const end = bytes.indexOf(10);
  if (end < 0) return undefined;
  const title = bytes.subarray(0, end).toString('utf8');
  const blocks = new Map<number, Float64Array>();
  let at = end + 1;
  while (at + HEAD <= bytes.length) {
    const size = bytes.readUInt32LE(at + 4);
    if (size % 8 !== 0 || at + HEAD + size > bytes.length) break;
    const record = bytes.subarray(at, at + HEAD + size);
    if (record.readUInt32LE(8) !== checksum(record)) break;
    // Copied, because numbers must begin at a multiple of 8 bytes.
    blocks.set(record.readUInt32LE(0), new Float64Array(Uint8Array.from(record.subarray(HEAD)).buffer));
    at += HEAD + size;
  }
  return { title, blocks, length: at };
}
