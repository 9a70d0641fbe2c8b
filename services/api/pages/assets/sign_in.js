// The dialog in which a person signs in; whatever is on the page stays as it is.

import { byId } from './dom.js';
import { signIn } from './api.js';
import { t } from './texts.js';

let open = null;

/** Asks somebody to sign in; resolves to true when somebody did. Many askers share one dialog. */
export function askToSignIn(why = '') {
  open ??= new Promise((resolve) => {
    const dialog = byId('sign-in');
    const form = byId('sign-in-form');
    const trouble = byId('sign-in-trouble');
    const before = document.activeElement;
    byId('sign-in-why').textContent = why;
    trouble.textContent = '';
    byId('password').value = '';
    const submit = async (event) => {
      event.preventDefault();
      const button = form.querySelector('button');
      button.disabled = true;
      trouble.textContent = t('sign_in.checking');
      try {
        await signIn(byId('login').value.trim(), byId('password').value);
      } catch (error) {
        trouble.textContent = error.message;
        byId('password').value = '';
        byId('password').focus();
        return;
      } finally {
        button.disabled = false;
      }
      byId('password').value = '';
      form.removeEventListener('submit', submit);
      dialog.removeEventListener('cancel', stay);
      dialog.close();
      before?.focus?.();
      open = null;
      document.dispatchEvent(new CustomEvent('signed-in'));
      resolve(true);
    };
    const stay = (event) => event.preventDefault();
    form.addEventListener('submit', submit);
    dialog.addEventListener('cancel', stay);
    dialog.showModal();
    byId('login').focus();
  });
  return open;
}
