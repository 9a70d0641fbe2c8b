// The dialog in which a person signs in; whatever is on the page stays as it is.

import { byId } from './dom.js';
import { badgeIn, isBadge, signIn, vouchIn } from './api.js';
import { t } from './texts.js';

let open = null;

// What the service says when wrong PINs hold a badge back, so that another person may vouch.
const HELD_BACK = new Set(['pin-held-back', 'pin-ended']);

/**
 * Asks somebody to sign in, with login and password or with badge and PIN; resolves to true when
 * somebody did. Many askers share one dialog.
 *
 * A badge may stand in it already; with `mayLeave` the dialog can be closed with nobody new.
 */
export function askToSignIn(why = '', { badge = '', mayLeave = false } = {}) {
  open ??= new Promise((resolve) => {
    const dialog = byId('sign-in');
    const form = byId('sign-in-form');
    const trouble = byId('sign-in-trouble');
    const before = document.activeElement;
    byId('sign-in-why').textContent = why;
    trouble.textContent = '';
    byId('password').value = '';
    if (badge) byId('login').value = badge;
    const login = byId('login');
    const vouch = byId('vouch');
    const vouching = (now) => {
      vouch.hidden = !now;
      byId('password').required = !now;
      for (const id of ['voucher-badge', 'voucher-pin']) {
        byId(id).value = '';
        byId(id).required = now;
      }
    };
    vouching(false);
    // A badge's characters are nobody's to read off the screen.
    const hide = () => { login.type = isBadge(login.value) ? 'password' : 'text'; };
    hide();
    // Whoever else signs in now has a PIN or password of their own.
    const another = () => {
      hide();
      if (!vouch.hidden) vouching(false);
    };
    const submit = async (event) => {
      event.preventDefault();
      const button = form.querySelector('button');
      button.disabled = true;
      trouble.textContent = t('sign_in.checking');
      try {
        const [name, secret] = [login.value.trim(), byId('password').value];
        if (!vouch.hidden) await vouchIn(name, { badge: byId('voucher-badge').value.trim(), pin: byId('voucher-pin').value });
        else await (isBadge(name) ? badgeIn(name, secret) : signIn(name, secret));
      } catch (error) {
        trouble.textContent = error.message;
        byId('voucher-pin').value = '';
        if (isBadge(login.value.trim()) && HELD_BACK.has(error.code)) vouching(true);
        byId('password').value = '';
        byId(vouch.hidden ? 'password' : 'voucher-badge').focus();
        return;
      } finally {
        button.disabled = false;
      }
      end(true);
    };
    const end = (somebody) => {
      byId('password').value = '';
      vouching(false);
      if (isBadge(login.value)) login.value = '';
      hide();
      form.removeEventListener('submit', submit);
      login.removeEventListener('input', another);
      for (const field of [login, byId('voucher-badge')]) field.removeEventListener('keydown', next);
      dialog.removeEventListener('cancel', stay);
      byId('sign-in-leave').removeEventListener('click', leave);
      dialog.close();
      before?.focus?.();
      open = null;
      resolve(somebody);
    };
    const stay = (event) => {
      event.preventDefault();
      if (mayLeave) end(false);
    };
    const leave = () => end(false);
    // A badge's scan ends with Enter: the PIN comes next.
    const next = (event) => {
      if (event.key !== 'Enter' || !isBadge(event.target.value.trim())) return;
      event.preventDefault();
      byId(event.target === login ? 'password' : 'voucher-pin').focus();
    };
    form.addEventListener('submit', submit);
    login.addEventListener('input', another);
    for (const field of [login, byId('voucher-badge')]) field.addEventListener('keydown', next);
    dialog.addEventListener('cancel', stay);
    byId('sign-in-leave').hidden = !mayLeave;
    byId('sign-in-leave').addEventListener('click', leave);
    dialog.showModal();
    (badge ? byId('password') : login).focus();
  });
  return open;
}
