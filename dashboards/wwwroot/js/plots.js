// The analyst's plots, drawn by ECharts (loaded by the page as window.echarts) from the data blocks of the page.

const kinds = ['points', 'faint', 'line', 'edge'];
const tones = ['quiet', 'strong', 'dashed'];

// Round ends and steps around everything that is drawn: four to eight steps.
function round(least, most) {
  const wanted = Math.max(most - least, 1e-9) / 7;
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = [1, 2, 3, 4, 5, 10].find(s => s * power >= wanted * .999) * power;
  // 3 * 0.1 is not 0.3.
  const plain = value => Number(value.toPrecision(10));
  return [plain(Math.floor(least / step + 1e-9) * step), plain(Math.ceil(most / step - 1e-9) * step), plain(step)];
}

function option(plot, element) {
  const style = getComputedStyle(element);
  const colour = name => style.getPropertyValue(`--${name}`).trim();
  const narrow = element.clientWidth < 600;
  const ink = colour('ink');
  const text = { color: ink, fontSize: narrow ? 13 : 14, fontFamily: style.fontFamily };
  const over = { textBorderColor: colour('page'), textBorderWidth: 4 };
  const points = plot.series.flatMap(s => s.points);
  const ys = [...points.map(p => p[1]), ...plot.lines.flatMap(l => l.band ?? [l.y])];
  const xs = points.map(p => p[0]);
  const pad = Math.max(.5, (Math.max(...ys) - Math.min(...ys)) * .08);
  const least = Math.min(...ys);
  let [yMin, yMax, yStep] = round(least >= 0 ? 0 : least - pad, Math.max(...ys) + pad);
  let [xMin, xMax, xStep] = round(Math.min(...xs), Math.max(...xs));
  // Shares in percent on both axes.
  if (plot.diagonal) xStep = yStep = 10;
  if (plot.diagonal) [xMin, xMax, yMin, yMax] = [Math.floor(Math.min(...xs, ...ys) / 10) * 10, 100, Math.floor(Math.min(...xs, ...ys) / 10) * 10, 100];
  const day = 24 * 3600 * 1000;
  if (plot.isTime) [xMin, xMax, xStep] = [Math.min(...xs) - day / 2, Math.max(...xs) + day / 2, undefined];
  const number = value => String(Number(value.toPrecision(6)));
  const axis = {
    axisLabel: { ...text, hideOverlap: true }, axisLine: { show: true, lineStyle: { color: ink } },
    nameTextStyle: text, splitLine: { lineStyle: { color: colour('unknown-hatch') } },
  };
  const marks = plot.lines.map(line => ({
    yAxis: line.y,
    lineStyle: { color: ink, width: tones[line.tone] === 'strong' ? 3 : 1.5, type: tones[line.tone] === 'dashed' ? [8, 5] : 'solid' },
    label: { ...text, ...over, position: 'insideEndTop', formatter: line.name },
  }));
  if (plot.diagonal) {
    const from = Math.max(xMin, yMin), to = Math.min(xMax, yMax);
    marks.push([{ coord: [from, from], lineStyle: { color: ink, width: 1.5, type: [8, 5] }, label: { show: false } }, { coord: [to, to] }]);
  }

  const bands = plot.lines.filter(line => line.band).map(line => [
    { yAxis: line.band[0], itemStyle: { color: colour('air-line'), opacity: tones[line.tone] === 'strong' ? .34 : .14 } }, { yAxis: line.band[1] },
  ]);

  return {
    animation: false,
    textStyle: { fontFamily: style.fontFamily },
    grid: { left: 10, right: 24, top: plot.series.length > 1 ? 56 : 34, bottom: 30, containLabel: true },
    legend: { show: plot.series.length > 1, data: plot.series.map(s => s.name).filter(name => name !== 'its upper end'), top: 0, left: 0, textStyle: text, selectedMode: false },
    xAxis: { ...axis, type: plot.isTime ? 'time' : 'value', min: xMin, max: xMax, interval: xStep, axisLabel: { ...axis.axisLabel, formatter: plot.isTime ? undefined : number }, name: plot.xName, nameLocation: 'middle', nameGap: 28, splitLine: { show: false } },
    yAxis: { ...axis, type: 'value', min: yMin, max: yMax, interval: yStep, axisLabel: { ...axis.axisLabel, formatter: number }, name: plot.yName, nameLocation: 'end', nameTextStyle: { ...text, align: 'left' } },
    useUTC: true,
    series: plot.series.map((series, i) => {
      const kind = kinds[series.kind];
      const tone = kind === 'faint' || kind === 'edge' ? colour('soft') : [colour('surface-line'), colour('air-line'), colour('walk-area'), ink][i % 4];
      return {
        type: kind === 'line' || kind === 'edge' ? 'line' : 'scatter', name: series.name, data: series.points, animation: false, silent: true,
        symbol: kind === 'faint' ? 'emptyCircle' : ['circle', 'rect', 'triangle', 'diamond', 'roundRect', 'pin', 'arrow'][i % 7], symbolSize: { faint: 4, edge: 0 }[kind] ?? 9, color: tone,
        lineStyle: { color: tone, width: kind === 'edge' ? 1.5 : 2.5, type: kind === 'edge' ? [2, 4] : 'solid' }, itemStyle: { color: tone, opacity: kind === 'faint' ? .55 : .9 },
        markArea: i === 0 && bands.length > 0 ? { silent: true, data: bands } : undefined,
        markLine: i === 0 ? { silent: true, symbol: 'none', animation: false, data: marks } : undefined,
      };
    }),
  };
}

for (const figure of document.querySelectorAll('[data-plot]')) {
  const canvas = figure.querySelector('.canvas');
  if (!canvas || !window.echarts) continue;
  canvas.hidden = false;
  const plot = JSON.parse(figure.querySelector('[data-block="plot"]').textContent);
  const chart = window.echarts.init(canvas, null, { renderer: 'svg' });
  const draw = () => chart.setOption(option(plot, canvas), true);
  new ResizeObserver(() => { chart.resize(); draw(); }).observe(canvas);
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', draw);
}
