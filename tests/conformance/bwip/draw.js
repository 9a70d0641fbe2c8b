// Draws symbols: argument 1 is a folder; each line of standard input is a JSON object of
// bwip-js's options. Writes 0.png, 1.png, ... in the order of the lines.
const fs = require('fs');
const bwip = require('bwip-js');
const lines = fs.readFileSync(0, 'utf8').split('\n').filter(Boolean);
async function main() {
  for (const [at, line] of lines.entries()) {
    const options = { scale: 3, padding: 10, backgroundcolor: 'FFFFFF', ...JSON.parse(line) };
    fs.writeFileSync(`${process.argv[2]}/${at}.png`, await bwip.toBuffer(options));
  }
}
main().catch((error) => { console.error(String(error)); process.exit(1); });
