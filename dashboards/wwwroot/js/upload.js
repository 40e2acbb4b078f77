// A form with a file that may be large: says how much has arrived, can be stopped, and keeps the form when it is refused.
// Without this script the form is sent as any other.
const form = document.getElementById('upload');
const start = form.querySelector('[type="submit"]');
const sending = document.getElementById('sending');
const sent = document.getElementById('sent');
const said = document.getElementById('sending-said');
const giveUp = document.getElementById('give-up');
const most = Number(form.dataset.mostBytes);
const mib = bytes => bytes >= 10 << 20 ? Math.round(bytes / (1 << 20)) : (bytes / (1 << 20)).toFixed(1);

let request = null;

form.addEventListener('submit', event => {
  event.preventDefault();
  document.getElementById('faults')?.remove();
  const file = form.elements.file.files[0];
  if (file && file.size > most) {
    refuse([`The file has ${mib(file.size)} MiB, and this page takes ${mib(most)} MiB. Cut it into parts, or ask whoever runs the server to use the command backtest, which has no limit.`]);
    return;
  }

  send(file?.size ?? 0);
});

giveUp.addEventListener('click', () => request?.abort());

function send(size) {
  request = new XMLHttpRequest();
  request.open('POST', form.action || location.href);
  request.responseType = 'document';
  let told = -1;
  request.upload.addEventListener('progress', event => {
    sent.value = event.loaded / event.total;
    const percent = Math.floor(10 * event.loaded / event.total) * 10;
    // A screen reader hears each tenth.
    if (percent !== told) said.textContent = `${percent} % of ${mib(event.total)} MiB`;
    told = percent;
  });
  request.upload.addEventListener('load', () => {
    sent.removeAttribute('value');
    said.textContent = size > 50 << 20 ? 'All has arrived; the server reads the rows, which takes a minute or so' : 'All has arrived; the server reads the rows';
  });
  request.addEventListener('load', answered);
  request.addEventListener('error', () => refuse(['The connection broke before the server had answered. Nothing was started; try again.']));
  request.addEventListener('abort', () => refuse(['You stopped it. Nothing was started, and nothing of the file is kept.']));
  start.disabled = true;
  sending.hidden = false;
  request.send(new FormData(form));
}

function answered() {
  if (request.status < 400 && request.responseURL && new URL(request.responseURL).pathname !== location.pathname) {
    location.assign(request.responseURL);
    return;
  }

  const page = request.response;
  const faults = [...page?.querySelectorAll('#faults li') ?? []].map(li => li.textContent);
  const words = [...page?.querySelectorAll('main h1, main p') ?? []].map(p => p.textContent.trim()).slice(0, 2).join('. ');
  refuse(faults.length > 0 ? faults : [words || `The server answered ${request.status}. Try again.`]);
}

function refuse(faults) {
  start.disabled = false;
  sending.hidden = true;
  sent.value = 0;
  said.textContent = '';
  const box = document.createElement('div');
  box.className = 'faults';
  box.id = 'faults';
  box.setAttribute('role', 'alert');
  box.tabIndex = -1;
  const heading = document.createElement('h2');
  heading.textContent = 'Not started';
  const list = document.createElement('ul');
  for (const fault of faults) {
    const item = document.createElement('li');
    item.textContent = fault;
    list.append(item);
  }

  box.append(heading, list);
  form.before(box);
  box.focus();
}
