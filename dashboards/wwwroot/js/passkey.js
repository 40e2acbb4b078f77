// Passkeys: kept on the page of one's sign-ins, used where somebody is asked to sign in.
import { Remedy, send } from './remedy.js';

const able = window.PublicKeyCredential?.parseCreationOptionsFromJSON !== undefined && window.isSecureContext;

for (const offer of document.querySelectorAll('#passkey')) offer.hidden = !able;
onPress('passkey-keep', keep);
onPress('passkey-enter', enter);

function onPress(id, act) {
  document.getElementById(id)?.addEventListener('click', async event => {
    const button = event.currentTarget;
    if (button.getAttribute('aria-disabled') === 'true') return;
    button.setAttribute('aria-disabled', 'true');
    say('Asking the phone …');
    try {
      say(await act());
    } catch (error) {
      say(words(error));
    } finally {
      button.removeAttribute('aria-disabled');
    }
  });
}

async function keep() {
  const options = await (await send('POST', '/api/passkeys/offer', {})).json();
  const credential = await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(options) });
  await send('POST', '/api/passkeys', credential.toJSON());
  location.reload();
  return 'Kept. From now on you can sign in with it.';
}

async function enter() {
  const options = await (await send('POST', '/api/passkeys/ask', {})).json();
  const credential = await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(options) });
  await send('POST', '/api/passkeys/enter', credential.toJSON());
  location.assign('/');
  return 'Signed in.';
}

function words(error) {
  if (error instanceof Remedy) return error.message;
  if (error.name === 'NotAllowedError') return 'The phone has no passkey for this, or you said no. Use a link.';
  if (error.name === 'InvalidStateError') return 'This phone has a passkey already.';
  return `That did not work (${error.message}). Use a link.`;
}

function say(text) {
  document.getElementById('passkey-said').textContent = text;
}
