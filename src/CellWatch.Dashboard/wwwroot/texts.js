// The words of the scripts. English stands where it is shown; another language comes once, with the document.
const table = JSON.parse(document.getElementById('texts')?.textContent ?? '{}');

// Holes are numbered, as in C#.
export const spoken = (english, ...holes) => (table[english] ?? english).replace(/\{(\d+)\}/g, (_, hole) => holes[hole]);
