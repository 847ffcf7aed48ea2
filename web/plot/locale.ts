/** Some browsers name a language that they do not know themselves, and the plots ask for it as they are loaded. */
if (typeof navigator !== 'undefined')
  try {
    new Intl.NumberFormat(navigator.language);
  } catch {
    Object.defineProperty(navigator, 'language', { value: 'en', configurable: true });
  }

export {};
