/** YAML text to a tree of nodes with places, and what went wrong in words for the person who wrote it. */
import type { CST, Document, Node, Pair } from 'yaml';
import { Composer, isAlias, isMap, isScalar, isSeq, Lexer, Parser, type Scalar } from 'yaml';

/** Limits on what a file may cost; each is far above what a scenario needs. */
export const MOST_CHARACTERS = 1_000_000; // some 20 000 events
const MOST_WORDS = 500_000;
const DEEPEST = 40;

export interface SyntaxProblem {
  readonly offset: number;
  readonly message: string;
  /** The structure of what follows is unsure. */
  readonly breaks: boolean;
}

/**
 * Parses one YAML 1.2 document. All scalars are taken as they are written ("failsafe" schema): a quantity is text with a
 * unit, and nothing else may guess at its type. Never throws.
 */
export function parseYaml(text: string): { document: Document.Parsed | undefined; problems: SyntaxProblem[] } {
  const problems: SyntaxProblem[] = [];
  const nothing = (offset: number, message: string) => ({
    document: undefined,
    problems: [{ offset, message, breaks: true }],
  });
  if (text.length > MOST_CHARACTERS) {
    return nothing(0, `the text has more than ${MOST_CHARACTERS / 1e6} million characters; no scenario needs so many`);
  }
  let words = 0;
  const tokens: CST.Token[] = [];
  const parser = new Parser();
  for (const lexeme of new Lexer().lex(text)) {
    tokens.push(...parser.next(lexeme));
    // The composer recurses; stopping here keeps it, and everything after it, off the end of the stack.
    if (++words > MOST_WORDS)
      return nothing(parser.offset, `the text is too long: ${MOST_WORDS} words and signs up to here`);
    if (parser.stack.length > DEEPEST) return nothing(parser.offset, `nested deeper than ${DEEPEST} levels`);
  }
  tokens.push(...parser.end());
  // Keys written twice are found by the reader, which can name both places and needs no time squared in their number.
  const composer = new Composer({ schema: 'failsafe', uniqueKeys: false, prettyErrors: false });
  const [document, second] = composer.compose(tokens, true, text.length);
  if (second !== undefined)
    problems.push({
      offset: startOf(second, text),
      message: 'a second document starts here; a scenario file holds one',
      breaks: false,
    });
  if (document?.directives.yaml.explicit && document.directives.yaml.version !== '1.2')
    problems.push({ offset: 0, message: 'files are read as YAML 1.2; remove the %YAML line', breaks: false });
  const reported = new Set<number>();
  for (const { code, message, pos } of [...(document?.errors ?? []), ...(document?.warnings ?? [])]) {
    // What is not closed is noticed where the text ends; the place to mend is where it begins.
    const open = /closing|^Flow/.test(message) ? openedBefore(document?.contents ?? null, pos[0]) : undefined;
    const offset = open ?? pos[0];
    if (!reported.has(offset)) problems.push({ offset, message: explain(code, message), breaks: !HARMLESS.has(code) });
    reported.add(offset);
  }
  return { document, problems };
}

const HARMLESS = new Set(['TAG_RESOLVE_FAILED', 'BAD_DQ_ESCAPE']);

/** Where the last quoted text or bracket begins that reaches up to the offset. */
function openedBefore(contents: Node | null, offset: number): number | undefined {
  let last: number | undefined;
  for (const node of nodesOf(contents)) {
    const [from, to] = node.range ?? [0, 0];
    const opens = isScalar(node) ? /^QUOTE/.test(node.type ?? '') : (isMap(node) || isSeq(node)) && node.flow === true;
    if (opens && from < offset && to >= offset && (last === undefined || from > last)) last = from;
  }
  return last;
}

/** Every node in the order of the file, without recursion. */
function* nodesOf(contents: Node | null): Generator<Node> {
  const open: (Node | null)[] = [contents];
  while (open.length > 0) {
    const node = open.pop();
    if (node == null) continue;
    yield node;
    const inside: (Node | null)[] = [];
    if (isMap(node)) for (const pair of node.items as Pair<Node, Node | null>[]) inside.push(pair.key, pair.value);
    if (isSeq(node)) for (const item of node.items as (Node | null)[]) inside.push(item);
    while (inside.length > 0) open.push(inside.pop()!);
  }
}

/** The "---" or, without one, the first text of a document. */
function startOf(document: Document.Parsed, text: string): number {
  const from = document.contents?.range[0] ?? document.range[0];
  const mark = text.lastIndexOf('\n---', from);
  return mark < 0 ? from : mark + 1;
}

/** Says in the words of somebody who writes a scenario file, not a parser, what is wrong. */
function explain(code: string, message: string): string {
  switch (code) {
    case 'TAB_AS_INDENT':
      return 'a tab stands where the line is indented; indent with spaces';
    case 'BAD_INDENT':
      return /^Flow/.test(message)
        ? 'this "[" or "{" is not closed, or what is in it is not indented below its key'
        : 'this line is not aligned with the ones above it: keys of one group start in the same column';
    case 'BLOCK_AS_IMPLICIT_KEY':
      return 'a second ":" follows: either the next line is indented too far, or text with ": " needs quotes';
    case 'MULTILINE_IMPLICIT_KEY':
      return 'a line without ":" before this key, or a key that is indented too far';
    case 'MISSING_CHAR':
      if (/closing/.test(message)) return 'this quotation mark is not closed';
      if (/followed by map values/.test(message)) return 'this key has no ":" behind it';
      break;
    case 'UNEXPECTED_TOKEN':
      return /at node end/.test(message)
        ? 'this does not belong to the value before it: put the whole value in quotes, or check the indentation'
        : 'this stands where nothing can follow: check the indentation and the quotes above';
    case 'BAD_SCALAR_START':
      return 'text that starts with this character needs quotes';
    case 'BAD_DQ_ESCAPE':
      return 'unknown escape; write a backslash as "\\\\", or use single quotes';
    case 'TAG_RESOLVE_FAILED':
      return 'a type mark ("!...") means nothing here; remove it';
  }
  return `not valid YAML: ${message.charAt(0).toLowerCase()}${message.slice(1)}`;
}

/** What each "*name" repeats: the last "&name" above it in the file. */
export function aliasTargets(contents: Node | null): Map<Node, Node> {
  const targets = new Map<Node, Node>();
  const anchors = new Map<string, Node>();
  for (const node of nodesOf(contents)) {
    if (isAlias(node)) {
      const target = anchors.get(node.source);
      if (target !== undefined) targets.set(node, target);
    } else if ((isScalar(node) || isMap(node) || isSeq(node)) && node.anchor !== undefined)
      anchors.set(node.anchor, node);
  }
  return targets;
}

/** A scalar as written, without its quotes. */
export const textOf = (node: Scalar): string => (typeof node.value === 'string' ? node.value : (node.source ?? ''));
export const isEmpty = (node: Node | null): boolean =>
  node === null || (isScalar(node) && node.type === 'PLAIN' && /^(|~|null)$/i.test(textOf(node)));
export const shapeOf = (node: unknown): string =>
  isMap(node) ? 'a group of keys' : isSeq(node) ? 'a list' : isScalar(node) ? 'a single value' : 'empty';
