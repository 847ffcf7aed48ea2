// The single-file build loads many times faster than the package's separate modules; it ships without types.
declare module 'mathjs/lib/browser/math.js' {
  import type { MathJsInstance } from 'mathjs';

  const math: MathJsInstance;
  export default math;
}
