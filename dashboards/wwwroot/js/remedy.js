// An error whose message is for the person: what happened and what to do.
export class Remedy extends Error {}

// Gives a promise that may never settle a limit of its own.
export function within(promise, milliseconds, message) {
  let timer;
  const limit = new Promise((_, reject) => {
    timer = setTimeout(() => reject(new Remedy(message)), milliseconds);
  });
  return Promise.race([promise, limit]).finally(() => clearTimeout(timer));
}

// A request to our own server, with a limit and with messages a person can act on.
export async function send(method, path, body, alsoFine = []) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: body === undefined ? {} : { 'content-type': 'application/json' },
      body: body === undefined ? undefined : JSON.stringify(body),
      cache: 'no-store',
      signal: AbortSignal.timeout(10_000),
    });
  } catch {
    throw new Remedy('The server cannot be reached. Press again when there is a connection.');
  }
  if (answer.status === 401 || answer.status === 403) throw new Remedy('You are not signed in. Open your sign-in link in this browser, then press again.');
  if (answer.status === 429) throw new Remedy('Too many presses in a short time. Wait a minute, then press again.');
  if (!answer.ok && !alsoFine.includes(answer.status)) throw new Remedy(`The server answered ${answer.status}. Wait a minute, then press again.`);
  return answer;
}
