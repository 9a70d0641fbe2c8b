// Short tones beside the words. They are no alarm tones: no bursts of three or five pulses, no
// repetition (IEC 60601-1-8 keeps those for alarms of medical equipment; from memory).

const MUTED = 'lotwarden-muted';

// Each tone is steps of [hertz, seconds].
const TONES = {
  taken: [[660, 0.06], [990, 0.09]],
  look: [[700, 0.1], [520, 0.14]],
  stop: [[170, 0.35]],
  unread: [[170, 0.15]],
  held: [[420, 0.04]],
};

// An open sound device costs a station's processor all day: it rests when no tone came for a while.
const REST_MS = 10000;

// Sound in larger pieces, because each wakes the processor; nobody hears that much delay.
const PIECE_S = 0.04;

let context = null;
let resting;

/** Whether this station's tones are off. */
export function muted() {
  return localStorage.getItem(MUTED) === 'yes';
}

/** Turns this station's tones off or on. */
export function mute(off) {
  localStorage.setItem(MUTED, off ? 'yes' : 'no');
  makeReady();
}

/** Readies the sound before the first tone: making it takes longer than a verdict may. */
export function makeReady() {
  if (context || muted() || !window.AudioContext) return;
  context = new AudioContext({ latencyHint: PIECE_S });
  context.suspend();
}

/** Plays a verdict's tone once. */
export function play(verdict) {
  makeReady();
  if (muted() || !TONES[verdict] || !context) return;
  context.resume();
  clearTimeout(resting);
  resting = setTimeout(() => context.suspend(), REST_MS);
  let at = context.currentTime + 0.01;
  for (const [hertz, seconds] of TONES[verdict]) {
    const [tone, volume] = [context.createOscillator(), context.createGain()];
    tone.type = verdict === 'stop' || verdict === 'unread' ? 'sawtooth' : 'sine';
    tone.frequency.value = hertz;
    volume.gain.setValueAtTime(0.2, at);
    volume.gain.linearRampToValueAtTime(0, at + seconds);
    tone.connect(volume).connect(context.destination);
    tone.start(at);
    tone.stop(at + seconds);
    at += seconds;
  }
}
