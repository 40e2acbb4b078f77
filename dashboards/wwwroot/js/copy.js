// Takes a link that is shown once to where it is sent from: the phone's own sheet, or what was copied last.
for (const button of document.querySelectorAll('button[data-copies]')) {
  const text = document.getElementById(button.dataset.copies).textContent;
  const said = document.getElementById(`${button.dataset.copies}-said`);
  button.hidden = false;
  button.addEventListener('click', async () => {
    try {
      await navigator.clipboard.writeText(text);
      said.textContent = 'Copied. Paste it into a message to that person.';
    } catch {
      getSelection().selectAllChildren(document.getElementById(button.dataset.copies));
      said.textContent = 'This browser does not let a page copy. The link is marked: copy it yourself.';
    }
  });
}
