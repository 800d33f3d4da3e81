// A base as large as one likes, for figures only: procedures with titles, causes and steps of their own, put together from the
// trade's words by a generator that gives the same base every time.

import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

const PLACES = ["", "left front ", "right front ", "left rear ", "right rear ", "upper ", "lower ", "inner ", "outer ", "second "];
const PARTS = ("alternator,starter motor,fuel pump,coolant pump,thermostat,radiator fan,heater blower,wiper motor,door lock,window lift,"
  + "brake caliper,brake servo,wheel speed sensor,steering pump,steering angle sensor,shock absorber,spring seat,wheel bearing,propeller shaft,"
  + "clutch cylinder,gear lever cable,gearbox selector,exhaust flap,particle filter,oxygen sensor,air mass meter,throttle body,intake flap,"
  + "turbo actuator,boost hose,charge air cooler,injector,high pressure pump,fuel filter,tank sender,vent valve,glow plug,ignition coil,spark plug,"
  + "camshaft sensor,crankshaft sensor,knock sensor,oil pressure switch,oil cooler,sump gasket,cylinder head,valve cover,timing chain,drive belt,"
  + "belt tensioner,idler pulley,compressor clutch,condenser,evaporator drain,expansion valve,cabin filter,seat heater,mirror heater,tail lift pump,"
  + "lift ram,tipping cylinder,hydraulic valve block,sweeping brush,suction fan,water tank gauge,spray nozzle,conveyor motor,spreader disc,"
  + "salt hopper gate,beacon,reversing lamp,brake lamp,indicator relay,headlamp leveller,fog lamp,interior lamp,horn contact,trailer socket,"
  + "parking sensor,rear camera,tachograph feed,radio aerial,battery isolator,ground strap,fuse carrier,body computer,gateway unit,instrument cluster,"
  + "door interlock,step motor,ramp sensor,tyre sensor,park brake actuator,air dryer,brake chamber,load valve,retarder,suspension bellows").split(",");
const FAULTS = ("does not move,stays on,works now and then,makes a grinding noise,whistles,leaks,smells burnt,runs hot,runs too slowly,blows its fuse,"
  + "sticks halfway,returns by itself,reads too high,reads too low,shows nothing,vibrates,drips,freezes,cuts out,starts late,draws current at rest,"
  + "is loose,rattles,hunts,will not release,will not lock,flickers,corrodes,loses pressure,overfills").split(",");
const WHENS = ("when cold,when hot,after rain,after washing,on a slope,at idle,under load,above 60 km/h,while braking,while turning left,while turning right,"
  + "with the lamps on,in the morning,after standing a week,after refuelling,over bumps,in reverse,with a trailer,during unloading,in frost").split(",");
const DEFECTS = ("worn,seized,broken,bent,blocked,chafed through,corroded,out of adjustment,short-circuited,open inside,wired wrongly,contaminated with oil").split(",");
const SYSTEMS = ("charging,starting,cooling,fuel,ignition,brakes,steering,suspension,body,lighting,climate,hydraulics,network,exhaust,wipers,doors,lift,"
  + "sweeper,gritter,air,wheels,gearbox,clutch,intake,instruments").split(",");

/** Numbers from 0 to below `below`, the same every time (a 32-bit xorshift, Marsaglia 2003). */
export function dice(seed) {
  let state = seed >>> 0 || 1;
  return (below) => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state % below;
  };
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);

/** Writes the base and returns its procedures: `{ id, title }`. */
export function write(folder, count) {
  const roll = dice(20_310_417);
  const pick = (all) => all[roll(all.length)];
  for (const name of ["procedures", "systems", "specs"]) mkdirSync(join(folder, name), { recursive: true });
  const put = (name, text) => writeFileSync(join(folder, name), text);
  put("shop.yaml", "title: Harrow Vale depot, large\nfeedback: workshop@example.invalid\n");
  put("vehicles.yaml", Array.from({ length: 12 }, (_, n) => `unit-${n}: {title: Unit ${n}, groups: [${n % 2 ? "vans" : "plant"}]}\n`).join(""));
  put("equipment.yaml", "multimeter:\n  title: Multimeter\n  measures:\n    dc voltage: {range: 0 to 60 V, resolution: 0.01 V, accuracy: 1 %}\n");
  for (const system of SYSTEMS) put(`systems/${system}.md`, `---\ntitle: ${capital(system)}\n---\nHow the ${system} works when it is healthy.\n`);
  const titles = new Set();
  const codes = [];
  const specs = [];
  const procedures = [];
  for (let n = 0; n < count; n += 1) {
    let title;
    do title = `${capital(pick(PLACES) + pick(PARTS))} ${pick(FAULTS)} ${pick(WHENS)}`; while (titles.has(title));
    titles.add(title);
    const id = `p${String(n).padStart(5, "0")}`;
    if (n % 2 === 0) {
      const code = `${"PBCU"[roll(4)]}${(0x0100 + n / 2).toString(16).toUpperCase().padStart(4, "0")}`;
      codes.push([code, `${capital(pick(PARTS))} ${pick(["circuit", "range", "signal", "plausibility", "feed low", "feed high"])}`]);
    }
    const code = n % 2 === 0 ? `codes: [${codes.at(-1)[0]}]\n` : "";
    const spec = `v${Math.floor(n / 5)}`;
    if (n % 5 === 0) specs.push(`${spec}: {title: ${capital(pick(PARTS))} feed ${Math.floor(n / 5)}, quantity: dc voltage, value: at least 11 V, source: Invented for the figures}\n`);
    const causes = Array.from({ length: 5 }, (_, c) => `  c${c}: {title: ${capital(pick(PLACES) + pick(PARTS))} ${pick(DEFECTS)}, share: 20}\n`).join("");
    const headings = [];
    const steps = Array.from({ length: 5 }, (_, s) => {
      const title = `${pick(["Look at", "Move", "Listen to", "Feel", "Measure"])} the ${pick(PLACES)}${pick(PARTS)}`;
      const on = s < 4 ? `then: s${s + 1}` : `refer: The maker's information`;
      const test = s === 2 ? `    measure: ${spec}\n    with: [multimeter]\n` : `    observe: ${title}\n`;
      headings.push(`## ${title} {#s${s}}\n\nNote what is seen before anything is moved.\n`);
      const [good, bad] = s === 2 ? ["in spec", "below spec"] : ["healthy", "not healthy"];
      return `  s${s}:\n${test}    minutes: ${1 + roll(9)}\n    results:\n      - {if: ${good}, clears: [c${s}], ${on}}\n      - {if: ${bad}, shows: c${s}}\n`;
    }).join("");
    const head = `---\ncomplaint: ${title}\nsystem: ${pick(SYSTEMS)}\n${code}causes:\n${causes}steps:\n${steps}---\n`;
    mkdirSync(join(folder, "procedures", String(n % 50)), { recursive: true });
    put(`procedures/${n % 50}/${id}.md`, `${head}Begin with what can be seen. The ${pick(PARTS)} of this unit needs room to work.\n\n${headings.join("\n")}`);
    procedures.push({ id, title });
  }
  put("codes.yaml", codes.map(([code, title]) => `${code}: {title: ${title}}\n`).join(""));
  put("specs/all.yaml", specs.join(""));
  return procedures;
}
