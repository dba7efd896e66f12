/** The report's style sheet. Its SHA-256 stands in the content policy: a test compares the two. */
export const REPORT_CSS: string = `:root{--paper:#fbf8f1;--shade:#eee8da;--ink:#1f1b16;--soft:#5c554b;--accent:#a8321a;--line:#cfc7b6}
@media (prefers-color-scheme:dark){:root{--paper:#21272b;--shade:#2f373c;--ink:#ebe6db;--soft:#b3ada0;--accent:#f2906e;--line:#4a5359}}
*{box-sizing:border-box}
html{background:var(--paper);color:var(--ink);font:16px/1.5 "DejaVu Sans","Bitstream Vera Sans",Verdana,sans-serif;font-variant-numeric:tabular-nums lining-nums}
body{margin:0 auto;max-width:72rem;padding:1.5rem clamp(1rem,4vw,3rem) 4rem}
h1{font-size:1.9rem;line-height:1.2;margin:1rem 0 .4rem}
h2{font-size:1.25rem;margin:2.6rem 0 .8rem;padding-bottom:.25rem;border-bottom:2px solid var(--ink)}
h3{font-size:1rem;margin:1.6rem 0 .5rem}
p{margin:.4rem 0 .8rem;max-width:48rem}
a{color:var(--accent)}
.soft,figcaption,caption{color:var(--soft);font-size:.875rem}
.hash{font-size:.8rem;overflow-wrap:anywhere}
.verdict{border:2px solid var(--ink);padding:.8rem 1rem;font-weight:bold;max-width:none}
.out,.stop{color:var(--accent);font-weight:bold}
.verdict.out{border-color:var(--accent)}
nav ul{display:flex;flex-wrap:wrap;gap:.3rem 1.4rem;list-style:none;padding:0;margin:.8rem 0}
nav a{color:inherit}
.cautions{border:2px solid var(--accent);background:var(--shade);padding:.4rem 1rem .2rem}
.cautions h2{border:0;margin:.4rem 0;color:var(--accent)}
.cautions li{margin:.3rem 0}
.scroll{overflow-x:auto}
.scroll table{min-width:44rem}
table{border-collapse:collapse;width:100%;font-size:.875rem;margin:.4rem 0 1rem}
caption{text-align:left;padding:.2rem 0}
th,td{text-align:left;vertical-align:top;padding:.28rem .7rem .28rem 0;border-bottom:1px solid var(--line)}
thead th{border-bottom:2px solid var(--ink);vertical-align:bottom}
tbody th{font-weight:normal;white-space:nowrap}
.n{text-align:right;white-space:nowrap}
figure{margin:1rem 0 2rem}
figure svg{display:block;width:100%;height:auto;min-width:44rem}
figure.small svg{min-width:0;max-width:52rem}
ol.steps{padding-left:1.6rem}
ol.steps>li{margin:0 0 1rem;padding-left:.3rem}
ol.steps ul{padding-left:1.2rem;margin:.2rem 0}
.f-paper{fill:var(--paper)}.f-shade{fill:var(--shade)}.f-ink{fill:var(--ink)}.f-soft{fill:var(--soft)}.f-accent{fill:var(--accent)}
.s-ink{stroke:var(--ink)}.s-soft{stroke:var(--soft)}.s-accent{stroke:var(--accent)}.s-paper{stroke:var(--paper)}
:focus-visible{outline:3px solid var(--accent);outline-offset:2px}
@media print{:root{--paper:#fff;--shade:#f1ede4;--ink:#000;--soft:#444;--accent:#a8321a;--line:#bbb}html{font-size:11px}body{max-width:none;padding:0}nav{display:none}h2{break-after:avoid}figure,tr,ol.steps>li{break-inside:avoid}figure svg{min-width:0}.scroll{overflow:visible}.scroll table{min-width:0}}
`;

/** SHA-256 of the text above, base64, for the policy. */
export const REPORT_CSS_SHA256 = "bKoRBxOprrx3+2IF/Y0/0rlcl5uzCDMr2tmEdS5YROY=";
