// A label's check character by ISO 7064 MOD 37,36, so that a misread label is told without asking the archive.
const SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
const LABEL = /^[PCLB][0-9]{5}[0-9A-Z]$/;

// The code without the address that may stand before it on a label.
export const bare = (text) => text.replace(/\/+$/, "").split("/").pop().trim();
const plain = (text) => bare(text).replace(/[\s-]/g, "").toUpperCase();

// The label's code, or "" where the text is something else: a piece's own number, a shelf's own code.
export const labelIn = (text) => (LABEL.test(plain(text)) ? plain(text) : "");

// A sentence when the text is a label with a sign misread or two swapped, else "".
export function wrongCheck(text) {
  const code = labelIn(text);
  if (!code) return "";
  let rest = 36;
  for (const sign of code.slice(0, 6)) rest = (((rest + SIGNS.indexOf(sign)) % 36 || 36) * 2) % 37;
  if (SIGNS[(37 - rest) % 36] === code[6]) return "";
  return `${code} has a wrong check character: a sign was misread or two were swapped. Scan it again.`;
}
