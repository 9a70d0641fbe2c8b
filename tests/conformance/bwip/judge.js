// Argument 1 is "true" where required companions count. Reads bracketed GS1 texts as JSON strings, one a line; answers with bwip-js's error or "".
//
// "format" is looked at after the text has been judged and before anything is drawn, so an
// impossible one makes every text that passes end there, without the cost of a symbol.
const bwip = require('bwip-js');
const lines = require('fs').readFileSync(0, 'utf8').split('\n').filter(Boolean);
for (const line of lines) {
  let answer = 'no answer';
  try {
    bwip.raw('gs1datamatrix', JSON.parse(line), { lintreqs: process.argv[2] === 'true', format: 'none' });
  } catch (error) {
    answer = String(error.message);
  }
  console.log(answer.startsWith('bwipp.datamatrixInvalidFormat') ? '' : answer);
}
