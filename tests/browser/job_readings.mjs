// Readings for the steps of a compiled job: one inside each of the cells that the step tells apart, and the ways to each ending.

/** Texts that a case could hold for the step at `at`, on this class of vehicles: one for each label, or close to each cell. */
export function candidates({ numbers }, data, group, at) {
  const step = data.steps[at];
  const meeting = group.meets[at];
  if (meeting.is === "blind" || step.kind === "observe") return step.results.map((one) => [one.text]);
  const quantity = data.quantities[step.quantity];
  const unit = quantity.units.find((one) => one.symbol === step.unit) ?? quantity.units[0] ?? { symbol: "", factor: "1", add: "0" };
  const inUnit = (edge) => {
    const value = numbers.over(numbers.minus(numbers.exact(edge[0]), numbers.exact(unit.add)), numbers.exact(unit.factor));
    return Number(value.top) / Number(value.bottom);
  };
  return group.keys[meeting.key].cells.map((cell) => {
    if (cell === null) return ["open circuit"];
    const [low, high] = cell.map((edge) => edge && inUnit(edge));
    const from = low ?? (high ?? 0) - 5;
    const to = high ?? (low ?? 0) + 5;
    const values = quantity.whole ? [Math.ceil(from), Math.ceil(from) + 1] : [(from + to) / 2, from, to];
    return values.map((value) => written(step, Number(value.toFixed(6)), unit.symbol));
  });
}

/** An amount, or parts that come to it. */
function written(step, value, unit) {
  if (!step.parts) return `${value} ${unit}`.trim();
  const parts = { spread: [0, value], difference: value < 0 ? [0, -value] : [value, 0], "lowest of highest": [value, unit === "%" ? 100 : 1] }[step.parts.take];
  while (parts.length < step.parts.names.length) parts.push(parts[1]);
  return parts.map((part) => `${part} ${step.parts.unit}`.trim()).join(", ");
}

/** Every reading that moves the job from `state`: { text, state } by result, `not taken` last. */
export function moves(engine, data, state) {
  const { engine: think } = engine;
  const meeting = state.class.meets[state.at];
  const step = data.steps[state.at];
  const found = [];
  const go = (text) => {
    const entered = think.enter(data, state, { step: step.id, reading: text });
    if (entered.wrong) return false;
    found.push({ text, step: step.id, result: entered.result, state: think.settle(data, entered.state, []) });
    return true;
  };
  if (meeting.is === "done") go(undefined);
  else for (const texts of candidates(engine, data, state.class, state.at)) texts.some(go);
  if (step.without) go(think.NOT_TAKEN);
  return found;
}

/** The shortest list of moves to each ending of the procedure, as { end: "STEP RESULT", vehicle, moves }. */
export function waysToEndings(engine, data) {
  const { engine: think } = engine;
  const ways = new Map();
  for (const group of data.classes) {
    const vehicle = group.vehicles[0];
    const seen = new Set();
    let edge = [{ state: think.settle(data, think.start(data, vehicle, []), []), moves: [] }];
    while (edge.length) {
      const next = [];
      for (const { state, moves: before } of edge) {
        for (const move of moves(engine, data, state)) {
          const way = before.concat([{ step: move.step, text: move.text }]);
          if (move.state.end) {
            const last = move.state.path.at(-1);
            const end = `${last.step} ${last.reading === think.NOT_TAKEN ? "without" : last.taken}`;
            if (!ways.has(end)) ways.set(end, { end, vehicle, moves: way });
            continue;
          }
          const key = JSON.stringify([move.state.at, Object.entries(move.state.facts).sort()]);
          if (!seen.has(key)) { seen.add(key); next.push({ state: move.state, moves: way }); }
        }
      }
      edge = next;
    }
  }
  return [...ways.values()];
}

/** Every ending that the procedure's data has, as "STEP RESULT". */
export function endings(data) {
  return data.steps.flatMap((step) => step.results.map((one, at) => one.way.kind !== "then" && `${step.id} ${at}`)
    .concat([step.without && step.without.kind !== "then" && `${step.id} without`]).filter(Boolean));
}
