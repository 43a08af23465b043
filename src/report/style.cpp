// SPDX-License-Identifier: Apache-2.0
// The look of the report: dark text on white, three inks that differ in lightness, system fonts, A4 and Letter.
#include "report/detail/page.hpp"

namespace hardpan::report::detail {

const char* style_sheet() {
  return R"css(:root{--text:#1f2933;--quiet:#4b5661;--line:#c3cad1;--faint:#f3f5f7;--deep:#14375e;--good:#12655a;--bad:#8c1c13;--open:#5a4a12}
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0 auto;max-width:68rem;padding:1.2rem 1.4rem 3rem;background:#fff;color:var(--text);
 font:16px/1.5 "Source Sans 3","Noto Sans","Liberation Sans",Arial,sans-serif;overflow-wrap:break-word}
h1,h2,h3,h4{line-height:1.22;color:var(--deep);break-after:avoid;page-break-after:avoid}
h1{font-size:1.9rem;margin:.1rem 0 .6rem}
h2{font-size:1.4rem;margin:2.6rem 0 .8rem;padding-top:.5rem;border-top:3px solid var(--deep)}
h3{font-size:1.12rem;margin:1.7rem 0 .5rem}
h4{font-size:1rem;margin:1rem 0 .25rem;color:var(--text)}
p,ul,ol,dl{margin:.5rem 0}
p,li{max-width:46rem}
a{color:var(--deep)}
a:focus-visible,.wide:focus-visible{outline:3px solid #c8641e;outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{left:1rem;top:.5rem;background:#fff;padding:.4rem .8rem}
.kind{margin:0;color:var(--quiet);letter-spacing:.02em}
.lead{font-size:1.06rem}
.small,.notes{font-size:.86rem;color:var(--quiet)}
.top dl,.plain dl{display:grid;gap:.1rem 1.6rem;grid-template-columns:repeat(auto-fit,minmax(14rem,1fr))}
dl div{display:grid;grid-template-columns:minmax(8rem,12rem) 1fr;gap:.8rem;padding:.14rem 0}
.top dl div{grid-template-columns:auto 1fr;gap:.5rem}
dt{color:var(--quiet)}dd{margin:0;min-width:0;overflow-wrap:anywhere}
.contents{border:1px solid var(--line);border-width:1px 0;margin:1rem 0}
.contents ol{list-style:none;padding:.35rem 0;margin:0;display:flex;flex-wrap:wrap;gap:.2rem 1.1rem}
.wide{overflow-x:auto;margin:1rem 0 .4rem}
@media screen{.wide{background:linear-gradient(90deg,#fff 30%,#fff0) 0 0/2.6rem 100% no-repeat local,linear-gradient(270deg,#fff 30%,#fff0) 100% 0/2.6rem 100% no-repeat local,
 linear-gradient(90deg,#1f293359,#1f293300) 0 0/.9rem 100% no-repeat scroll,linear-gradient(270deg,#1f293359,#1f293300) 100% 0/.9rem 100% no-repeat scroll}
 thead th{background:none}tbody tr:nth-child(even){background:#14375e0c}}
table{border-collapse:collapse;width:100%;font-size:.88rem;font-variant-numeric:tabular-nums}
caption{caption-side:top;text-align:left;padding:.2rem 0 .45rem;color:var(--text)}
th,td{padding:.3rem .55rem;border-bottom:1px solid var(--line);text-align:left;vertical-align:top}
thead th{border-bottom:2px solid var(--text);vertical-align:bottom;background:#fff}
tbody th{font-weight:600}
tbody tr:nth-child(even){background:var(--faint)}
.r{text-align:right}
.date,.n{white-space:nowrap}
.sums td:last-child{font-family:"DejaVu Sans Mono","Liberation Mono",monospace;font-size:.8em;word-break:break-all;min-width:16em}
.shape{border-left:4px solid var(--text);padding:.2rem .8rem;font-weight:600}
sup{line-height:0;font-size:.75em}
.verdict{display:inline-flex;align-items:center;gap:.4rem;font-weight:700;white-space:nowrap}
.verdict svg{width:1.15em;height:1.15em;flex:none;fill:currentColor;stroke:currentColor;stroke-width:2}
.verdict .in{fill:none;stroke:#fff;stroke-width:2.4;stroke-linecap:round;stroke-linejoin:round}
.verdict.met{color:var(--good)}.verdict.not-met{color:var(--bad)}.verdict.not-shown{color:var(--open)}
.verdict.not-shown svg{fill:#fff}.verdict.not-shown .in{stroke:currentColor}
.finding{border:1px solid var(--line);border-left:4px solid var(--deep);padding:.2rem 1rem .7rem;margin:1rem 0}
.finding h3{margin:.6rem 0 .3rem;display:flex;flex-wrap:wrap;gap:.2rem 1rem;align-items:center}
.asked{font-weight:600}
.finding dl{display:grid;grid-template-columns:1fr 1fr;column-gap:1.6rem}
.finding dl .long{grid-column:1/-1}
.textbook{border:2px solid var(--text);padding:.3rem .7rem;font-weight:700;background:#fff;display:inline-block}
.missing{border-left:4px solid var(--line);padding:.2rem .8rem;color:var(--quiet)}
figure{margin:1.3rem 0;break-inside:avoid;page-break-inside:avoid}
.drawing svg{max-width:100%;height:auto}
figure svg{display:block;max-width:100%;height:auto}
figcaption{font-size:.9rem;max-width:46rem;margin-top:.3rem}
.at-narrow{display:none}
.cautions li{margin:.35rem 0}
footer{margin-top:3rem;border-top:1px solid var(--line);color:var(--quiet);font-size:.86rem}
@media screen and (max-width:46rem){
 body{padding:.8rem .9rem 2rem}
 h1{font-size:1.5rem}h2{font-size:1.22rem}
 dl div{grid-template-columns:1fr;gap:0}
 .finding dl{grid-template-columns:1fr}
 table{min-width:36rem}table.many{min-width:60rem}table.overview{min-width:0}
 .wide:has(table:not(.overview))::before{content:"Wide table: scroll sideways";display:block;position:sticky;left:0;font-size:.8rem;color:var(--quiet)}
 .at-wide{display:none}.at-narrow{display:block}
 .overview thead{position:absolute;left:-99rem}
 .overview,.overview tbody,.overview tr,.overview th,.overview td,.overview caption{display:block}
 .overview tr{padding:.5rem 0;border-bottom:1px solid var(--line)}
 .overview th,.overview td{border:0;padding:.1rem 0}
 .overview td[data-of]::before{content:attr(data-of) ": ";color:var(--quiet)}
}
@media (prefers-contrast:more){:root{--text:#000;--quiet:#1b1b1b;--line:#555}}
@page{size:auto;margin:17mm 15mm 18mm}
@media print{
 html{font-size:9.4pt}
 body{max-width:none;padding:0;font-size:1rem;line-height:1.36}
 h2{margin-top:0}
 .contents,.skip{display:none}
 section{break-before:page;page-break-before:always}
 #findings,#limits,#cautions,#ground{break-before:auto;page-break-before:auto}
 #limits h2,#cautions h2,#ground h2,#findings h2{margin-top:8mm}
 p,li{max-width:none;orphans:3;widows:3}
 dl div{break-inside:avoid;page-break-inside:avoid}
 .wide{overflow:visible;margin:3mm 0}
 table{font-size:8pt}table.many{font-size:6.9pt}
 th,td{padding:.9mm 1.4mm}
 .short{break-inside:avoid;page-break-inside:avoid}
 tbody tr:first-child,tbody tr:nth-child(2),tbody tr:last-child,tbody tr:nth-last-child(2){break-before:avoid;page-break-before:avoid}
 table.many th,table.many td{padding:.7mm .9mm}
 thead{display:table-header-group}
 tr{break-inside:avoid;page-break-inside:avoid}
 caption{break-after:avoid;page-break-after:avoid}
 tbody tr:nth-child(even){background:none}
 a{color:inherit;text-decoration:none}
 figure{margin:4mm 0}
 .verdict svg{print-color-adjust:exact;-webkit-print-color-adjust:exact}
 .finding{margin:3mm 0;padding:0 3.5mm 2mm;-webkit-box-decoration-break:clone;box-decoration-break:clone}
 .finding h3,.finding .asked,.finding .textbook{break-after:avoid;page-break-after:avoid}
 .finding dl,.finding li{break-inside:avoid;page-break-inside:avoid}
 .finding dl div{grid-template-columns:32mm 1fr;gap:2mm;padding:.2mm 0}
}
)css";
}

}  // namespace hardpan::report::detail
