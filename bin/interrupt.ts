/** Ctrl-C. */
import vm from 'node:vm';

/** Thrown by {@link interruptible}. */
export class Interrupted extends Error {
  override name = 'Interrupted';
}

let script: vm.Script | undefined;
let context: vm.Context | undefined;

/**
 * Calls `work` so that Ctrl-C ends it though it never gives way to the event loop, in which signal handlers run. No
 * `finally` in it runs then.
 *
 * @returns what `work` returns; throws what it throws, and {@link Interrupted} on Ctrl-C
 */
export function interruptible<T>(work: () => T): T {
  script ??= new vm.Script('work()');
  context ??= vm.createContext({});
  const before: unknown = context['work'];
  context['work'] = work;
  try {
    return script.runInContext(context, { breakOnSigint: true }) as T;
  } catch (error) {
    // The error of the interruption is made outside this context, so it is no instance of our Error.
    if ((error as NodeJS.ErrnoException | undefined)?.code === 'ERR_SCRIPT_EXECUTION_INTERRUPTED')
      throw new Interrupted('interrupted');
    throw error;
  } finally {
    context['work'] = before;
  }
}
