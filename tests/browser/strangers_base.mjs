// A knowledge base with one text in every place that an author can write, many texts at once.
//
// In: texts. Out: a folder with a base; the strings of a public list and of every way we know to smuggle a script into a page.

import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";

/** Breaks out of wherever the text stands, in every combination with something that runs or asks for something. */
export function smuggled() {
  const out = ["", "\">", "'>", "`>", "</title>", "</script>", "</style>", "</textarea>", "-->", "]]>", "</svg>", "\\\"", "{{", "{% raw %}", "&quot;&gt;", "%22%3E", "|", "](", "\u2028", "</p></div></main>"];
  const run = [
    "<script>alert(1)</script>", "<ScRiPt src=//bad.invalid/x.js></sCrIpT>", "<script/x>alert(1)</script>", "<img src=x onerror=alert(1)>",
    "<img/src=`x`onerror=alert(1)>", "<svg onload=alert(1)>", "<svg><script>alert(1)</script></svg>", "<svg><animate onbegin=alert(1) attributeName=x dur=1s>",
    "<body onload=alert(1)>", "<iframe srcdoc='<script>alert(1)</script>'>", "<iframe src=javascript:alert(1)>", "<object data=javascript:alert(1)>", "<embed src=//bad.invalid>",
    "<a href=javascript:alert(1)>x</a>", "<a href='java\tscript:alert(1)'>x</a>", "<a href=&#106;avascript:alert(1)>x</a>", "<form action=javascript:alert(1)><button>x</button></form>",
    "<button formaction=javascript:alert(1)>x", "<input autofocus onfocus=alert(1)>", "<details open ontoggle=alert(1)>", "<video src=x onerror=alert(1)>", "<math href=javascript:alert(1)>x</math>",
    "<style>@import '//bad.invalid/x.css'</style>", "<link rel=stylesheet href=//bad.invalid/x.css>", "<base href=//bad.invalid/>", "<meta http-equiv=refresh content='0;url=//bad.invalid'>",
    "<template><script>alert(1)</script></template>", "<noscript><p title='</noscript><img src=x onerror=alert(1)>'>", "<x onclick=alert(1) style=position:fixed;inset:0>x", "\" onmouseover=alert(1) x=\"",
    "' onfocus=alert(1) autofocus x='", "\" style=\"background:url(//bad.invalid/a.png)\" x=\"", "[x](javascript:alert(1))", "[x](JaVaScRiPt:alert(1))", "[x](data:text/html,<script>alert(1)</script>)", "[x](vbscript:msgbox)",
    "![x](javascript:alert(1))", "![x](//bad.invalid/a.png)", "![x](https://bad.invalid/a.png)", "<javascript:alert(1)>", "[x]: javascript:alert(1)", "[x](<java&#x73;cript:alert(1)>)", "[x](\u0001javascript:alert(1))",
    "[x](file:///etc/passwd)", "[x](//bad.invalid)", "[x](../../../../etc/passwd)", "[a](spec:x\" onclick=alert(1))", "# x {#a onclick=alert(1)}", "## x {.a #b style=c}", "| a | b |", "```<script>alert(1)</script>", "`<script>alert(1)</script>`",
    "<!--<script>alert(1)</script>-->", "<![CDATA[<script>alert(1)</script>]]>", "<?php alert(1) ?>", "<!DOCTYPE x [<!ENTITY a SYSTEM 'file:///etc/passwd'>]>", "&lt;script&gt;alert(1)&lt;/script&gt;", "\\u003cscript\\u003ealert(1)\\u003c/script\\u003e",
    "\\x3cscript\\x3ealert(1)", "${alert(1)}", "{{ constructor.constructor('alert(1)')() }}", "{% include '/etc/passwd' %}", "__proto__", "constructor", "toString", "hasOwnProperty", "</script><script>alert(1)//", "<\u0000script>alert(1)</script>",
    "\u202ealert(1)\u202c", "\u001b]0;x\u0007\u001b[2J", "\ufeff<script>alert(1)</script>", "＜script＞alert(1)＜/script＞", "%3Cscript%3Ealert(1)%3C/script%3E", "+ADw-script+AD4-alert(1)+ADw-/script+AD4-",
  ];
  const shapes = [(t) => t, (t) => `x ${t} y`, (t) => t.toUpperCase()];
  const texts = new Set();
  // Two of the three shapes of each, in turn.
  out.forEach((before, i) => run.forEach((what, j) => [0, 1].forEach((k) => texts.add(shapes[(i + j + k) % 3](before + what)))));
  return [...texts];
}

/** One line, without the signs that no YAML file may hold. */
const oneLine = (text) => [...text.toWellFormed()].map((c) => (/[\u0000-\u001f\u007f-\u009f\u2028\u2029\ufffe\uffff]/.test(c) ? " " : c)).join("").replace(/\s+/g, " ").trim().slice(0, 300);
const quoted = (text) => `'${oneLine(text).replaceAll("'", "''")}'`;

/** Every file of a base whose every place holds one of these texts. With `body`, the words of the pages hold them raw. */
export function baseOf(texts, body = true) {
  const q = texts.map(quoted);
  const raw = texts.map((text) => (body ? oneLine(text) : "harmless"));
  const ids = texts.map((_, at) => `p${at}`);
  const table = (row) => q.map((text, at) => row(text, ids[at])).join("");
  const files = {
    "shop.yaml": `title: ${q[0]}\ncurrency: ${q[0]}\ndefault-minutes: 5\nfeedback: yard@example.invalid\nbays:\n${table((t, id) => `  b-${id}: {title: ${t}, has: [e-${id}]}\n`)}`
      + "rules: {broken-link: off, raw-html: off, missing-figure: off, unresolved-name: off, no-alt-text: off, blocked-bay: off, misquoted-value: off}\n",
    "vehicles.yaml": table((t, id) => `v-${id}: {title: ${t}, groups: [all-of-them]}\n`),
    "codes.yaml": table((t, id) => `X-${id}: {title: ${t}, own-form: yes, monitor: ${t}}\n`),
    "equipment.yaml": table((t, id) => `e-${id}: {title: ${t}, hazards: [h-${id}]}\n`),
    "hazards.yaml": table((t, id) => `h-${id}: {signal: danger, title: ${t}, text: ${t}}\n`),
    "setups.yaml": table((t, id) => `s-${id}: {title: ${t}, minutes: 1, undo: ${t}}\n`),
    "terms.yaml": table((t, id) => `t-${id}: {title: ${t}, also: [${t}], means: ${t}}\n`),
    "specs/all.yaml": table((t, id) => `m-${id}:\n  title: ${t}\n  quantity: dc voltage\n  at: ${t}\n  when: ${t}\n  source: ${t}\n  value: 12 to 14 V\n`),
  };
  ids.forEach((id, at) => {
    const [t, r] = [q[at], raw[at]];
    files[`systems/y-${id}.md`] = `---\ntitle: ${t}\n---\n# ${r}\n\n${r}\n`;
    files[`checks/c-${id}.md`] = `---\ntitle: ${t}\nobserve: ${t}\nundo: ${t}\nrecord: [${t}]\n---\n${r}\n`;
    files[`repairs/r-${id}.md`] = `---\ntitle: ${t}\nundo: ${t}\nhazards: [h-${id}]\n---\n${r}\n`;
    files[`cases/k-${id}.yaml`] = `procedure: ${id}\nvehicle: v-${id}\nreadings: {look: "bright", volts: 11 V}\ncause: one\nnote: ${t}\n`;
    files[`procedures/${id}.md`] = `---
complaint: ${t}
also: [${t}]
codes: [X-${id}]
applies: [v-${id}]
system: y-${id}
hazards: [h-${id}]
causes:
  one: {title: ${t}, share: 1, fix: r-${id}, part: {name: ${t}, number: ${t}, price: 1, minutes: 2}}
  two: {title: ${t}, share: 1, fix: words, also: [${t}]}
steps:
  look:
    observe: ${t}
    setup: [s-${id}]
    minutes: 1
    record: [${t}]
    undo: ${t}
    results:
      - {if: bright, note: ${t}, clears: [two], then: volts}
      - {if: ${t}, note: ${t}, unproven: ${t}}
      - {if: dim, refer: ${t}}
      - {if: dark, clears: [one, two], normal: ${t}}
  volts:
    measure: m-${id}
    with: [e-${id}]
    without: {refer: ${t}}
    minutes: 1
    results:
      - {if: in spec, then: turn}
      - {if: out of spec, found: one, note: ${t}}
  turn: {do: ${t}, minutes: 1, hazards: [h-${id}], then: again}
  again:
    check: c-${id}
    minutes: 1
    results:
      - {if: works, shows: two}
      - {if: fails, found: one}
allow: {slow-order: ${t}}
---
${r}

${r} [${r}](${r}) ![${r}](${r}) \`${r}\`

| ${r} | b |
| --- | --- |
| ${r} | ${r} |

## ${r} {#look}

- ${r}
> ${r}

## Words {#volts}

    ${r}

[${r}]: ${r} "${r}"

## Words {#words}

<div title="${r}">${r}</div>
`;
  });
  return files;
}

export function write(folder, files) {
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, path)), { recursive: true });
    writeFileSync(join(folder, path), text);
  }
}
