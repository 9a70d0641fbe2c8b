// What a keyboard-wedge scanner types, whole: from the first character, with its separators.
//
// A scanner may send the separator of a GS1 symbol (GS, U+001D) as Ctrl+], as F8, as Alt+0029 on
// the number pad, or as itself; a field would drop the first three. It ends a reading with Enter
// or Tab, and its keys come faster than a hand's.

const GS = '\u001d';
const BURST_MS = 60;

/** Whether a key stands for the separator. */
function isSeparator(event) {
  const bracket = event.ctrlKey && !event.altKey && (event.key === ']' || event.code === 'BracketRight' || event.key === GS);
  return bracket || event.key === 'F8' || event.key === GS;
}

// Alt and four digits of the number pad: Windows' way to type a character by its number.
function altNumber() {
  let digits = '';
  return {
    /** Takes a key going down; true when it belongs to such a number. */
    down(event) {
      if (!event.altKey || !/^Numpad\d$/.test(event.code)) return false;
      digits += event.code.slice(-1);
      return true;
    },
    /** Takes a key going up; the separator when the number was its own. */
    up(event) {
      if (event.key !== 'Alt') return '';
      const typed = digits;
      digits = '';
      return typed === '0029' || typed === '029' ? GS : '';
    },
  };
}

/** The picture of the separator in a field, where U+001D itself cannot stand. */
const SHOWN = '\u241d';

/** Keeps the separators of what is typed into one field; gives a function that reads it whole. */
export function separatorsOf(input) {
  const alt = altNumber();
  const insert = () => input.setRangeText(SHOWN, input.selectionStart, input.selectionEnd, 'end');
  input.addEventListener('keydown', (event) => {
    if (isSeparator(event)) {
      event.preventDefault();
      insert();
    } else if (alt.down(event)) event.preventDefault();
  });
  input.addEventListener('keyup', (event) => { if (alt.up(event)) insert(); });
  return () => input.value.replaceAll(SHOWN, GS).trim();
}

/**
 * Leads every key on the page into one field, wherever the focus is, and hands over each reading.
 *
 * Fields that take their own keys carry `data-own`, and while a dialog is open nothing is led away
 * from it. A person's own Space or Enter on a button still presses it; a scan's never does.
 */
export function captureInto(input, take) {
  const read = separatorsOf(input);
  let last = 0;
  const finish = () => {
    const text = read();
    input.value = '';
    input.dispatchEvent(new Event('input'));
    if (text) take(text);
  };
  const elsewhere = (target) => target.closest?.('[data-own], dialog, [contenteditable]');
  document.addEventListener('keydown', (event) => {
    if (document.querySelector('dialog[open]') || elsewhere(event.target)) return;
    const inField = event.target === input;
    const inBurst = event.timeStamp - last < BURST_MS;
    const typed = event.key.length === 1 && !event.metaKey && (!event.ctrlKey || isSeparator(event)) && (!event.altKey || event.ctrlKey);
    if (event.key === 'Enter' || (event.key === 'Tab' && inBurst) || (inBurst && event.ctrlKey && /^[jm]$/i.test(event.key))) {
      // The end of a reading. A hand's Enter on a button or a link is left alone.
      if (inField || inBurst) {
        event.preventDefault();
        event.stopPropagation();
        finish();
      }
      return;
    }
    if (isSeparator(event)) {
      last = event.timeStamp;
      if (!inField) {
        event.preventDefault();
        input.focus();
        input.setRangeText(SHOWN, input.value.length, input.value.length, 'end');
      }
      return;
    }
    if (!typed) return;
    if (!inField) {
      // A hand's Space presses the button it is on; in a burst it belongs to the label.
      if (event.key === ' ' && !inBurst) return;
      // Moving the focus inside the event makes the character land in the field.
      input.focus();
      input.setSelectionRange(input.value.length, input.value.length);
    } else if (!inBurst) {
      // After a dialog the field may have the focus while the caret is still elsewhere, and the
      // characters would be lost: say where the caret is.
      input.setSelectionRange(input.selectionStart, input.selectionEnd);
    }
    last = event.timeStamp;
  }, { capture: true });
  // A tap on a button does not take the focus away from the field.
  document.addEventListener('mousedown', (event) => {
    if (event.target.closest?.('button') && !elsewhere(event.target)) event.preventDefault();
  });
}
