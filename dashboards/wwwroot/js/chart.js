// A day's curve, drawn by ECharts (loaded by the page as window.echarts).
import { clock, degrees, fahrenheit, ground, inUnits } from './text.js';

const silenceBreaksLine = 10 * 60;

// Colours of the page's own theme, so that light, dark and high contrast are decided in one place.
function theme(element) {
  const style = getComputedStyle(element);
  return name => style.getPropertyValue(`--${name}`).trim();
}

// Points of one column; a silence or a missing value interrupts the line.
function line(day, column) {
  const points = [];
  let last = null;
  day.at.forEach((at, i) => {
    const value = column[i];
    if (value === null) return;
    if (last !== null && at - last > silenceBreaksLine) points.push([(last + 1) * 1000, null]);
    points.push([at * 1000, value]);
    last = at;
  });
  return points;
}

// What was measured, as walkers were told of it: the hottest reading of each point, or the coldest where that freezes and nothing is too hot.
const told = day => day.hottestCelsius.map((hottest, i) =>
  (day.coldestCelsius[i] !== null && day.coldestCelsius[i] <= 0 && hottest < day.limitCelsius ? day.coldestCelsius[i] : hottest));

// The scale of the left axis. Whole steps around everything that is drawn: of 10 °C, which makes the steps of a °F axis beside
// it even, or of 20 °F where that is the only one.
function scale(day, unit) {
  const alone = unit === 'fahrenheit';
  const of = celsius => (celsius === null ? null : alone ? fahrenheit(celsius) : celsius);
  const [step, below, above] = alone ? [20, 2, 14] : [10, 1, 8];
  const all = [...told(day), ...day.airCelsius, ...day.lowerCelsius, ...day.upperCelsius, day.limitCelsius]
    .filter(v => v !== null).map(of);
  return { of, step, min: Math.floor((Math.min(...all) - below) / step) * step, max: Math.ceil((Math.max(...all) + above) / step) * step };
}

function hatch(colour) {
  const tile = document.createElement('canvas');
  tile.width = tile.height = 10;
  const pen = tile.getContext('2d');
  pen.strokeStyle = colour;
  pen.lineWidth = 1.5;
  pen.beginPath();
  for (const x of [-10, 0, 10]) {
    pen.moveTo(x, 10);
    pen.lineTo(x + 10, 0);
  }
  pen.stroke();
  // With its size: drawn anew, when the phone turns dark, it would have none until it is loaded.
  return { image: tile, repeat: 'repeat', imageWidth: tile.width, imageHeight: tile.height };
}

const inSentence = (celsius, unit) => inUnits(Number(celsius.toFixed(1)), Math.round(fahrenheit(celsius)), unit);

// Widened to whole degrees.
const interval = (lower, upper, unit) =>
  inUnits(`${Math.floor(lower)} to ${Math.ceil(upper)}`, `${Math.floor(fahrenheit(lower))} to ${Math.ceil(fahrenheit(upper))}`, unit);

// What was so within this is so. DaySummary says the same on the server.
const justNow = 20 * 60_000;

// When what lies now, or is expected, will have thawed nobody knows yet.
function icyWhen(day, span, now) {
  const [from, to] = [span.from, span.to].map(at => clock(Date.parse(at), day.timeZoneId));
  if (now >= Date.parse(day.to) || Date.parse(span.to) < now - justNow) return `${from} to ${to}`;
  return Date.parse(span.from) > now ? `from ${from} on` : `since ${from}`;
}

export function option(day, now, element, unit, seconds = at => (Date.parse(at) - Date.parse(day.from)) / 1000) {
  const colour = theme(element);
  const narrow = element.clientWidth < 600;
  const { of, step, min, max } = scale(day, unit);
  const ice = of(0);
  const both = unit !== 'celsius' && unit !== 'fahrenheit';
  const length = seconds(day.to);
  const at = s => clock(Date.parse(day.from) + s * 1000, day.timeZoneId);
  const ink = colour('ink');
  const fontFamily = getComputedStyle(element).fontFamily;
  const text = { color: ink, fontSize: narrow ? 13 : 15, fontFamily };
  // Words on a line stay readable: a rim of the page's own colour.
  const over = { textBorderColor: colour('page'), textBorderWidth: 4 };
  const axis = { axisLabel: text, axisLine: { show: true, lineStyle: { color: ink } }, splitLine: { lineStyle: { color: colour('unknown-hatch') } } };
  const inDay = s => Math.min(Math.max(s, 0), length) * 1000;

  // Neighbouring words go below each other.
  const tooHot = day.tooHot.map((span, i) => [
    {
      name: `${span.estimated ? 'too hot, estimated' : 'too hot'}\n${at(seconds(span.from))} to ${at(seconds(span.to))}`,
      xAxis: inDay(seconds(span.from)),
      itemStyle: {
        color: span.estimated ? hatch(colour('surface-line')) : colour('surface-line'),
        opacity: span.estimated ? .35 : .16,
        borderColor: colour('surface-line'), borderWidth: 2, borderType: span.estimated ? 'dashed' : 'solid',
      },
      label: { ...text, position: 'insideTop', offset: [0, (i % 3) * 40], fontWeight: 700, lineHeight: 18, ...over },
    },
    { xAxis: inDay(seconds(span.to)) },
  ]);
  const icy = (day.icy ?? []).map((span, i) => [
    {
      name: `may be icy\n${icyWhen(day, span, now)}`,
      xAxis: inDay(seconds(span.from)),
      itemStyle: { color: colour('air-line'), opacity: .2, borderColor: colour('air-line'), borderWidth: 2, borderType: 'dotted' },
      label: { ...text, position: 'insideTop', offset: [0, ((day.tooHot.length + i) % 3) * 40], fontWeight: 700, lineHeight: 18, ...over },
    },
    { xAxis: inDay(seconds(span.to)) },
  ]);
  const walk = day.walk === null ? [] : [[
    {
      name: `${day.walk.dog}’s walk\n${at(seconds(day.walk.from))} to ${at(seconds(day.walk.to))}`,
      xAxis: inDay(seconds(day.walk.from)),
      itemStyle: { color: 'transparent', borderColor: colour('walk-area'), borderWidth: 4 },
      label: { ...text, position: 'insideBottom', fontWeight: 700, lineHeight: 18, color: colour('walk-area'), ...over },
    },
    { xAxis: inDay(seconds(day.walk.to)) },
  ]];
  const freezing = min >= ice ? [] : [[
    { yAxis: min, itemStyle: { color: hatch(colour('air-line')), opacity: .25 } },
    { yAxis: ice },
  ]];
  const sinceStart = (now - Date.parse(day.from)) / 1000;
  const marks = [{
    yAxis: of(day.limitCelsius),
    lineStyle: { color: ink, width: 2.5, type: [10, 4] },
    label: { ...text, position: 'insideStartTop', fontWeight: 700, ...over, formatter: `${narrow ? 'limit' : 'too hot from'} ${inSentence(day.limitCelsius, unit)}` },
  }];
  if (min < ice) {
    marks.push({
      yAxis: ice, lineStyle: { color: ink, width: 2.5, type: [2, 4] },
      label: { ...text, position: 'insideEndBottom', fontWeight: 700, ...over, formatter: `${narrow ? 'freezing' : 'freezing at'} ${inSentence(0, unit)}` },
    });
  }
  if (sinceStart > 0 && sinceStart < length) {
    marks.push({ xAxis: sinceStart * 1000, lineStyle: { color: ink, width: 2, type: [2, 3] }, label: { ...text, position: 'start', distance: 22, rotate: 0, formatter: 'now', fontWeight: 700, ...over } });
  }

  const plain = { type: 'line', showSymbol: false, symbol: 'none', connectNulls: false, animation: false, silent: true };
  const curve = column => line(day, column.map(of));
  const lower = curve(day.lowerCelsius);
  // Stacked with its sign: a band that begins under zero would otherwise be drawn from zero on.
  const band = { stack: 'interval', stackStrategy: 'all', lineStyle: { opacity: 0 } };
  const width = line(day, day.upperCelsius.map((u, i) => (u === null || day.lowerCelsius[i] === null ? null : of(u) - of(day.lowerCelsius[i]))));
  return {
    animation: false,
    textStyle: { fontFamily },
    grid: { left: 4, right: 4, top: narrow ? 62 : 44, bottom: 24, containLabel: true },
    legend: {
      top: 0, left: 0, itemWidth: 34, itemGap: 14, textStyle: text, selectedMode: false,
      itemStyle: { opacity: 0 },
      data: ['surface', 'surface, estimated', { name: 'nine times in ten', icon: 'rect', itemStyle: { opacity: .35 } }, 'air'],
    },
    tooltip: { show: true, trigger: 'axis', showContent: false, axisPointer: { type: 'line', lineStyle: { color: ink, width: 2 } } },
    xAxis: {
      ...axis, type: 'time', min: 0, max: length * 1000, splitNumber: narrow ? 3 : 8, splitLine: { show: false },
      axisLabel: { ...text, formatter: ms => at(ms / 1000), hideOverlap: true }, axisTick: { show: true },
    },
    yAxis: [
      { ...axis, type: 'value', min, max, interval: step, name: '', axisLabel: { ...text, formatter: unit === 'fahrenheit' ? '{value} °F' : '{value} °C' } },
      ...(both ? [{ ...axis, type: 'value', min: fahrenheit(min), max: fahrenheit(max), interval: 18, splitLine: { show: false }, axisLabel: { ...text, formatter: '{value} °F' } }] : []),
    ],
    useUTC: true,
    series: [
      { ...plain, name: 'lower end', data: lower, ...band },
      { ...plain, name: 'nine times in ten', data: width, ...band, itemStyle: { color: colour('surface-line'), opacity: .4 }, areaStyle: { color: colour('surface-line'), opacity: .22 } },
      { ...plain, name: 'air', data: curve(day.airCelsius), color: colour('air-line'), lineStyle: { color: colour('air-line'), width: 2, type: [3, 3] } },
      { ...plain, name: 'surface, estimated', data: curve(day.estimateCelsius), color: colour('surface-line'), lineStyle: { color: colour('surface-line'), width: 3, type: [9, 6] } },
      {
        ...plain, name: 'surface', data: curve(told(day)), color: colour('surface-line'), lineStyle: { color: colour('surface-line'), width: 4 },
        markArea: { silent: true, data: [...tooHot, ...icy, ...walk, ...freezing] },
        markLine: { silent: true, symbol: 'none', animation: false, data: marks },
      },
      // Carries the right axis, which would else not be drawn.
      ...(both ? [{ ...plain, yAxisIndex: 1, data: [] }] : []),
    ],
  };
}

// Where the air behind an estimate of the coming hours is from; a measured moment and a past gap say nothing.
function airFrom(day, at) {
  const coming = day.coming;
  const since = time => (Date.parse(time) - Date.parse(day.from)) / 1000;
  if (!coming || at < since(coming.from)) return [];
  const told = coming.forecast && at >= since(coming.forecast.from) && at <= since(coming.forecast.until);
  return [told ? 'air from a forecast' : 'air taken to repeat its last day'];
}

// Why the estimate of a moment is less sure; where the coming hours' air is from is said above.
function doubts(day, at) {
  const moment = Date.parse(day.from) + at * 1000;
  const why = (day.doubts ?? []).filter(d => moment >= Date.parse(d.from) && moment <= Date.parse(d.to)
    && !(d.kind === 'airGuessed' && airFrom(day, at).length > 0)).map(d => d.text);
  return why.length > 0 ? [`less sure: ${why.join('; ')}`] : [];
}

// One moment in words.
export function readout(day, ms, unit) {
  if (day.at.length === 0) return '';
  const wanted = ms / 1000;
  const i = day.at.reduce((best, at, j) => (Math.abs(at - wanted) < Math.abs(day.at[best] - wanted) ? j : best), 0);
  const parts = [clock(Date.parse(day.from) + day.at[i] * 1000, day.timeZoneId)];
  const measured = told(day)[i];
  if (measured !== null) parts.push(`surface ${ground(measured, day.limitCelsius, unit)}`);
  else if (day.estimateCelsius[i] !== null) {
    parts.push(`surface, estimated, ${ground(day.estimateCelsius[i], day.limitCelsius, unit)}`);
    if (day.lowerCelsius[i] !== null) parts.push(`nine times in ten ${interval(day.lowerCelsius[i], day.upperCelsius[i], unit)}`);
    parts.push(...airFrom(day, day.at[i]), ...doubts(day, day.at[i]));
  }
  const moment = Date.parse(day.from) + day.at[i] * 1000;
  if ((day.icy ?? []).some(span => moment >= Date.parse(span.from) && moment < Date.parse(span.to))) parts.push('may be icy');
  if (day.airCelsius[i] !== null) parts.push(`air ${degrees(day.airCelsius[i], unit)}`);
  return parts.join(' · ');
}
