// What a keyboard-wedge scanner types, whole: from the first character, with its separators.
//
// A scanner may send the separator of a GS1 symbol (GS, U+001D) as Ctrl+], as F8, as Alt+0029 on
// the number pad, or as itself; a field would drop the first three. It ends a reading with Enter
// or Tab, and its keys come faster than a hand's.

const GS = '\u001d';
const BURST_MS = 60;
// A hand may press two keys at once; so many in a row it does not.
const LEAST = 4;

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

/** Whether a key ends a reading: Enter, and what some scanners send with it or in its place. */
function isEnd(event, inBurst) {
  return event.key === 'Enter' || (inBurst && (event.key === 'Tab' || (event.ctrlKey && /^[jm]$/i.test(event.key))));
}

const isTyped = (event) => event.key.length === 1 && !event.metaKey && (!event.ctrlKey || isSeparator(event)) && (!event.altKey || event.ctrlKey);

/**
 * Keeps the separators of what is typed into one field; gives a function that reads it whole. A
 * scan into such a field is what the field asks for.
 */
export function separatorsOf(input) {
  const alt = altNumber();
  const insert = () => input.setRangeText(SHOWN, input.selectionStart, input.selectionEnd, 'end');
  input.dataset.scans = '';
  input.addEventListener('keydown', (event) => {
    if (isSeparator(event)) {
      event.preventDefault();
      insert();
    } else if (alt.down(event)) event.preventDefault();
  });
  input.addEventListener('keyup', (event) => { if (alt.up(event)) insert(); });
  return () => input.value.replaceAll(SHOWN, GS).trim();
}

// Keys on another field, or on anything in a dialog. A hand's stay there. A scanner's are a
// reading, known by their tempo: what the field held before the first of them is put back.
function beside(take) {
  const alt = altNumber();
  let [on, before, text, last] = [null, '', '', 0];
  const add = (event, letter) => {
    text += letter;
    last = event.timeStamp;
  };
  const finish = () => {
    if (on.value !== before) {
      on.value = before;
      for (const kind of ['input', 'change']) on.dispatchEvent(new Event(kind, { bubbles: true }));
    }
    take(text);
  };
  return {
    down(event) {
      const { target } = event;
      const inBurst = target === on && event.timeStamp - last < BURST_MS && !event.repeat;
      if (isEnd(event, inBurst)) {
        if (inBurst && text.length >= LEAST) {
          event.preventDefault();
          event.stopPropagation();
          finish();
        }
        on = null;
        return;
      }
      const digit = alt.down(event);
      if (!digit && !isTyped(event) && !isSeparator(event)) return;
      if (!inBurst) [on, before, text] = [target, target.value, ''];
      if (digit) add(event, '');
      else add(event, isSeparator(event) ? GS : event.key);
      // In a burst nothing but a field takes a character: no button is pressed by a label's space.
      if (digit || isSeparator(event) || (inBurst && !target.matches('input:not([type="checkbox"]), textarea'))) event.preventDefault();
    },
    up(event) {
      const letter = alt.up(event);
      if (letter && on) add(event, letter);
    },
  };
}

// Fields that ask for a scan themselves, and secrets, keep all keys.
const KEEPS = '[data-scans], input[type="password"]';

/**
 * Leads every key on the page into one field, wherever the focus is, and hands over each reading.
 *
 * In other fields and in the page's dialog a hand types as anywhere, and a scanner's reading is
 * handed over too, without a trace where the focus was. A person's own Space or Enter on a button
 * still presses it; a scan's never does.
 */
export function captureInto(input, take) {
  const read = separatorsOf(input);
  const other = beside(take);
  let last = 0;
  const finish = () => {
    const text = read();
    input.value = '';
    input.dispatchEvent(new Event('input'));
    if (text) take(text);
  };
  // A list is chosen from with the arrows: a letter on it begins a reading.
  const elsewhere = (target) => target !== input && target.closest?.('dialog, input, textarea');
  const keeps = (target) => target !== input && target.closest?.(KEEPS);
  document.addEventListener('keydown', (event) => {
    if (keeps(event.target)) return;
    if (document.querySelector('dialog[open]') || elsewhere(event.target)) {
      other.down(event);
      return;
    }
    const inField = event.target === input;
    const inBurst = event.timeStamp - last < BURST_MS;
    if (isEnd(event, inBurst)) {
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
    if (!isTyped(event)) return;
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
  document.addEventListener('keyup', (event) => other.up(event), { capture: true });
  // A tap on a button does not take the focus away from the field.
  document.addEventListener('mousedown', (event) => {
    if (event.target.closest?.('button') && !elsewhere(event.target)) event.preventDefault();
  });
}
