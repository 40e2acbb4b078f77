// A backtest under way: tells how far it is and opens its result.
const progress = document.getElementById('progress');
const said = document.getElementById('progress-said');

async function ask() {
  try {
    const answer = await fetch(`/api/backtests/${progress.dataset.run}`, { cache: 'no-store' });
    if (answer.status === 404) return location.reload();
    const run = await answer.json();
    progress.value = run.doneFraction;
    const percent = Math.round(run.doneFraction * 100);
    // A screen reader hears each tenth, not each percent.
    if (!run.begun) said.textContent = 'Waiting for another backtest to end';
    else if (percent % 10 === 0 || !said.textContent.includes('%')) said.textContent = `${percent} % of the days`;
    if (run.ended) return location.reload();
  } catch {
    said.textContent = 'No connection; trying again.';
  }
  setTimeout(ask, 1000);
}

ask();
