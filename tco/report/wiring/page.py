"""The wiring diagram as a piece of a page: point at a part and its shopping lines stand below.

One self-contained fragment of HTML: the drawing, a line that follows the pointer or the keyboard,
and the list, with a few lines of script and nothing from elsewhere. On paper the list stands under
the drawing.
"""

import json
from collections.abc import Mapping
from html import escape
from typing import Any

from tco.bank.wiring.part_decisions import reused_kinds
from tco.case.words import money
from tco.compare import Comparison
from tco.report import svg
from tco.report.svg import lines_of, short
from tco.report.wiring.diagram import wiring_diagram
from tco.report.wiring.shopping import ShoppingLine, in_units, lines_by_key, links, shopping_list
from tco.report.wiring.words import TABLE_ROW
from tco.result import Result

HINT = "Point at a part, or reach it with the tab key, to see its line of the shopping list."

_LEFT = 48.0

STYLE = """
.bank-wiring{background:#fff;color:#1d2733;font:14px/1.45 'DejaVu Sans',Verdana,sans-serif;
padding:.6em;border-radius:.4em;color-scheme:light}
.bank-wiring svg{display:block;width:100%;height:auto}
.bank-wiring [data-part]{cursor:pointer;outline:none}
.bank-wiring [data-part].shown rect,.bank-wiring [data-part]:focus rect{stroke:#0072b2;
stroke-width:3}
.bank-wiring [data-part].shown polyline:first-of-type,
.bank-wiring [data-part]:focus polyline:first-of-type{stroke-width:6}
.bank-wiring .told{min-height:3.2em;border-top:1px solid #dfe4e8;padding:.5em .2em;margin-top:.4em}
.bank-wiring .told p{margin:0}
.bank-wiring table{border-collapse:collapse;display:none}
.bank-wiring td,.bank-wiring th{padding:.2em .7em;text-align:left;border-bottom:1px solid #dfe4e8}
.bank-wiring .n{text-align:right;font-variant-numeric:tabular-nums}
@media print{.bank-wiring .told{display:none}.bank-wiring table{display:table;font-size:11px}
.bank-wiring svg{break-inside:avoid}}
"""

SCRIPT = """
(function(root){
  var told=root.querySelector('.told'),
      lines=JSON.parse(root.querySelector('script[type="application/json"]').textContent),
      kept=null;
  function show(part){
    root.querySelectorAll('.shown').forEach(function(e){e.classList.remove('shown')});
    part.classList.add('shown');
    var title=part.querySelector('title'), own=lines[part.dataset.part]||[];
    told.replaceChildren();
    var head=document.createElement('p'), strong=document.createElement('strong');
    strong.textContent=title?title.textContent.split('\\n')[0]:part.dataset.part;
    head.append(strong); told.append(head);
    own.forEach(function(line){
      var p=document.createElement('p');
      p.textContent=line.words;
      if(line.link){
        var a=document.createElement('a');
        a.href=line.link; a.target='_blank'; a.rel='noopener noreferrer';
        a.textContent='where to buy it'; p.append(' ',a);
      }
      told.append(p);
    });
    if(!own.length){
      var none=document.createElement('p');
      none.textContent='Nothing to buy for it.'; told.append(none);
    }
  }
  root.querySelectorAll('[data-part]').forEach(function(part){
    part.addEventListener('mouseenter',function(){if(!kept)show(part)});
    part.addEventListener('focus',function(){show(part)});
    part.addEventListener('click',function(event){
      kept=kept===part?null:part; show(part); event.stopPropagation();
    });
  });
  root.addEventListener('click',function(event){if(!told.contains(event.target))kept=null});
})(document.currentScript.parentElement);
"""


def wiring_page(comparison: Comparison, result: Result) -> str:
    """Fragment of HTML with the diagram of an arrangement and its shopping lines.

    A click holds a part's lines until the next click. An arrangement that cannot be wired, and a
    branch that cannot be fused, are told in the drawing's place and on it.
    """
    case = comparison.case
    drawing = _drawing(comparison, result)
    lines = [in_units(line, case.units) for line in shopping_list(case, result)]
    currency = case.prices.currency
    by_key = {
        key: [{"words": _words(line, currency), "link": _safe(line.link)} for line in own]
        for key, own in lines_by_key(lines).items()
    }
    rows = "".join(
        f"<tr><td>{escape(line.part)}</td><td class=n>{_amount(line)} {escape(line.unit)}</td>"
        f"<td class=n>{escape(money(line.cost, currency, digits=2))}</td>"
        f"<td>{escape(line.link)}</td></tr>"
        for line in lines
    )
    return (
        f'<div class="bank-wiring"><style>{STYLE}</style>{drawing}'
        f'<div class="told" aria-live="polite"><p>{escape(HINT)}</p></div>'
        f"<table><thead><tr><th>part<th class=n>quantity<th class=n>cost<th>where</tr></thead>"
        f"<tbody>{rows}</tbody></table>"
        f'<script type="application/json">{_json(by_key)}</script>'
        f"<script>{SCRIPT}</script></div>"
    )


def diagram_with_links(comparison: Comparison, result: Result) -> str:
    """The drawing alone (SVG), each part a link to where the user buys it, if anywhere.

    Of an arrangement that cannot be wired it says why.
    """
    case, name = comparison.case, result.arrangement.pack.name
    found = {} if result.wiring is None else links(case, result.wiring)
    found[name] = next((c.link for c in case.candidates if c.name == name), "")
    return _drawing(comparison, result, where=found)


def _drawing(
    comparison: Comparison, result: Result, *, where: Mapping[str, str] | None = None
) -> str:
    wiring = result.wiring
    if wiring is None:
        return _no_drawing(result.arrangement.label, result.bank.why_not)
    return wiring_diagram(
        comparison.case,
        result.arrangement,
        wiring.circuit,
        wiring.bill,
        comparison.feeds(result),
        kept=reused_kinds(wiring.parts),
        links=where,
    )


def _no_drawing(label: str, why_not: str) -> str:
    """SVG that says why an arrangement cannot be wired."""
    width, lines = 820.0, lines_of(f"It cannot be wired: {why_not}.", 116)
    parts = [svg.text(_LEFT, 34.0, short(label, 66), size=18, weight="bold")]
    parts += [
        svg.text(_LEFT, 62.0 + n * TABLE_ROW, line, size=12.5, fill=svg.ORANGE)
        for n, line in enumerate(lines)
    ]
    height = 62.0 + len(lines) * TABLE_ROW + 20.0
    return svg.document(parts, width=width, height=height, title=f"{label} cannot be wired")


def _words(line: ShoppingLine, currency: str) -> str:
    each = money(line.unit_price, currency, digits=2)
    together = money(line.cost, currency, digits=2)
    return f"{line.part}: {_amount(line)} {line.unit} at {each}, together {together}"


def _amount(line: ShoppingLine) -> str:
    return f"{line.quantity:,.1f}".removesuffix(".0")


def _safe(link: str) -> str:
    return link if link.startswith(("http://", "https://")) else ""


def _json(data: Any) -> str:
    """JSON that cannot end the script it stands in."""
    text = json.dumps(data, ensure_ascii=True)
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
