const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};
// XML 1.0, section 2.2: of the control characters only tab, line feed and return are characters; a lone surrogate never is.
const NOT_XML = /[^\P{Cc}\t\n\r]|[\ufffe\uffff]|\p{Cs}/gu;

/** Text as it may stand between tags and in quoted attributes of HTML, SVG and XML; what XML cannot hold becomes U+FFFD. */
export function escapeXml(text: string): string {
  return text.replace(NOT_XML, '\ufffd').replace(/[&<>"']/g, (c) => ENTITIES[c]!);
}

/** Text for a terminal: what could move the cursor, colour what follows or turn the reading direction becomes U+FFFD. */
export function plainLine(text: string): string {
  return text.replace(/[\r\n\t]+/g, ' ').replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, '\ufffd');
}
