/**
 * The page's style sheet. Tokens: one ground, one ink, one accent; light bands for presence, dark ones for nights; Okabe–Ito
 * colours for categories (lightened on dark ground). --mm is how large a millimetre of a plate is drawn, the same on all plates.
 */
export const PAGE_STYLE: string = `
:root{color-scheme:light dark;--paper:#fff;--card:#fff;--ink:#1d1c1a;--soft:#595650;--line:#ddd8cc;--accent:#3a3f9f;--band:#f6efda;--night:#d9d7e6;--grid:#efebe1;--warn:#7a4300;--warnbg:#fff5e2;--mm:1.06px;
--c1:#0072B2;--c2:#E69F00;--c3:#009E73;--c4:#CC79A7;--c5:#56B4E9;--c6:#D55E00;--c7:#7A7A7A;
--serif:Charter,"Bitstream Charter","Sitka Text",Cambria,"Liberation Serif",serif}
@media (prefers-color-scheme:dark){:root{--paper:#161615;--card:#1e1e1c;--ink:#efede7;--soft:#b0aca1;--line:#3b3934;--accent:#aab0ff;--band:#2f2c1f;--night:#272638;--grid:#2a2926;--warn:#ffc878;--warnbg:#312713;
--c1:#4FA8DC;--c2:#F0B23C;--c3:#3CC79F;--c4:#DE9CC0;--c5:#86CBF2;--c6:#F08A4A;--c7:#A8A8A8}}
*{box-sizing:border-box}
html{scroll-padding-top:52px}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 system-ui,Roboto,"Liberation Sans",sans-serif;font-variant-numeric:tabular-nums;overflow-wrap:break-word}
h1,h2,h3,.lead,.cells .n{font-family:var(--serif);font-weight:600;line-height:1.22}
h1{font-size:31px;margin:0}h2{font-size:23px;margin:60px 0 14px;padding-top:12px;border-top:2px solid var(--ink)}h3{font-size:18px;margin:26px 0 8px}
main{max-width:1120px;margin:0 auto;padding:34px 20px 80px}
nav{position:sticky;top:0;background:var(--paper);border-bottom:1px solid var(--line);font-size:14px;z-index:3}
nav ul{max-width:1120px;margin:0 auto;padding:0 20px;display:flex;gap:4px 20px;list-style:none;overflow-x:auto;white-space:nowrap}
@media screen and (min-width:861px){nav ul{flex-wrap:wrap}html{scroll-padding-top:84px}}
nav a{display:block;padding:11px 0;color:var(--soft);text-decoration:none}nav a:hover{color:var(--accent);text-decoration:underline}
a{color:inherit;text-decoration-color:var(--accent)}
.skip{position:absolute;left:-999px}.skip:focus{left:8px;top:8px;background:var(--paper);padding:8px;z-index:5}
:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
.when{color:var(--soft);margin:4px 0 0}
.lead{font-size:21px;font-weight:400;line-height:1.42;margin:16px 0 24px;max-width:46em}.lead b{font-weight:600}.lead p{margin:0 0 6px}
.cells{display:flex;flex-wrap:wrap;gap:1px;background:var(--line);border:1px solid var(--line)}
.cells>div{background:var(--card);padding:14px 16px;flex:1 1 215px}.cells .n{font-size:27px}.cells .w{color:var(--soft);font-size:14px}.cells .q{font-size:14px;color:var(--soft);line-height:1.4}
.note{background:var(--warnbg);color:var(--warn);padding:10px 14px;border-left:3px solid var(--warn);font-size:15px;margin:14px 0 0}
.assumed{border-left:3px solid var(--accent);padding:4px 14px;margin:14px 0 0;font-size:15px}
table.stack tr[hidden]{display:none}.wide+table,.narrow+table{margin-top:18px}
table{border-collapse:collapse;width:100%;font-size:15px}th{font-weight:500;color:var(--soft);text-align:left;font-size:13px;vertical-align:bottom}
td,th{padding:7px 14px 7px 0;border-bottom:1px solid var(--line);vertical-align:top}td:last-child,th:last-child{padding-right:0}.r{text-align:right}td.r,td.one{white-space:nowrap}
tbody tr:target,li:target{background:var(--band)}
.pose{min-width:150px}.soft{color:var(--soft)}.small{font-size:13px;line-height:1.4}.bad{color:var(--warn);font-weight:600}
.sheet{display:flex;flex-wrap:wrap;gap:30px 18px;align-items:flex-end}.sheet figure{margin:0;width:calc(var(--w)*var(--mm));min-width:200px;align-self:flex-start}
.sheet figure,#part-table tbody tr{content-visibility:auto;contain-intrinsic-size:auto 200px}.sheet figure>svg{width:calc(var(--w)*var(--mm));max-width:none;height:auto}figcaption{font-size:14px;line-height:1.42;margin-top:4px;padding-left:calc(26*var(--mm))}figcaption b{font-size:15px}
svg{max-width:100%;height:auto;display:block}td.r svg:not(.swatch){margin:5px 0 0 auto}svg.swatch{display:inline-block;margin-right:5px;vertical-align:0}
.scroll{overflow-x:auto}.scroll svg{max-width:none;width:100%}
.narrow{display:none}
.todo{list-style:none;margin:0;padding:0}.todo li{display:grid;grid-template-columns:1.4em 3.2em var(--where) 1fr;gap:0 10px;padding:5px 0;border-bottom:1px solid var(--line)}
.todo .box::before{content:"";display:inline-block;width:13px;height:13px;border:1.4px solid var(--soft);border-radius:2px;vertical-align:-1px}
.todo time{font-weight:600;white-space:nowrap}.todo .more{color:var(--soft);font-size:13px;margin-left:6px}
.bought{columns:3 300px;column-gap:28px;list-style:none;margin:0;padding:0;font-size:14px;line-height:1.4}.bought li{break-inside:avoid;padding:3px 0 3px 1.2em;text-indent:-1.2em}.bought .small{display:inline-block;text-indent:0}
.mesh{display:grid;grid-template-columns:minmax(0,440px) minmax(0,1fr);gap:6px 28px;padding:14px 0;border-bottom:1px solid var(--line);break-inside:avoid}.mesh.bare{grid-template-columns:1fr}.mesh figure{margin:0}.mesh img{width:100%;height:auto;display:block}.mesh figcaption{padding:0;font-size:13px}.mesh figcaption span{display:inline-block;margin-right:14px}.mesh h3{margin:0 0 6px}.mesh ul{margin:0;padding-left:1.1em}.mesh li{margin-bottom:8px}@media screen and (max-width:860px){.mesh{grid-template-columns:1fr}}
details{margin-top:12px}summary{cursor:pointer;color:var(--soft);font-size:15px}
.pic{width:196px;height:auto;image-rendering:auto}td.pictures{width:206px}.of{min-width:92px}
abbr.from{text-decoration:underline dotted var(--soft) 1px;text-underline-offset:3px;cursor:help;position:relative}
abbr.from:focus::after{content:"from " attr(title);position:absolute;left:0;top:1.5em;z-index:4;width:max-content;max-width:min(320px,80vw);background:var(--ink);color:var(--paper);font:13px/1.4 system-ui,sans-serif;padding:5px 9px;white-space:normal}
.ramp{display:flex;align-items:center;gap:8px;font-size:13px;color:var(--soft);margin:0 0 8px;flex-wrap:wrap}.ramp svg{width:190px}
.filter{margin:0 0 10px}.filter input{font:inherit;color:inherit;background:var(--card);border:1px solid var(--soft);padding:5px 9px;width:min(20em,100%)}
.progress{list-style:none;padding:0;margin:0}.progress li{display:grid;grid-template-columns:10em minmax(160px,320px) 1fr;gap:4px 14px;align-items:center;padding:5px 0;border-bottom:1px solid var(--line)}.progress .name{font-weight:600;overflow-wrap:anywhere}
.cautions li{margin-bottom:6px}footer{margin-top:60px;color:var(--soft);font-size:13px}
#part-table td.one{white-space:normal}td.r .small:not(.one){white-space:normal}td.r .small.one{white-space:nowrap}#part-table td:first-child .small{overflow-wrap:anywhere}
@media screen and (max-width:1180px){.pic{width:150px}td.pictures{width:156px}.pose{min-width:120px}}
@media screen and (max-width:860px){
table.stack thead{position:absolute;left:-9999px}table.stack,table.stack tbody,table.stack tr,table.stack td{display:block;width:auto;text-align:left}
table.stack tr[hidden]{display:none}table.stack tr{border-bottom:1px solid var(--line);padding:9px 0}table.stack td{border:0;padding:2px 0;display:grid;grid-template-columns:36% 1fr;gap:0 10px;white-space:normal}
table.stack td::before{content:attr(data-label);color:var(--soft);font-size:13px;line-height:1.75}
table.stack td.blank{display:none}table.stack td:first-child{display:block;font-weight:600}table.stack td:first-child .small{font-weight:400}table.stack td:first-child::before{content:none}
table.stack td.pictures{display:block}table.stack td.pictures::before{content:none}.pic{width:100%;max-width:368px}table.stack td.r svg:not(.swatch){margin-left:0}
}
@media screen and (max-width:640px){
:root{--mm:calc((100vw - 32px)/338)}
main{padding:20px 16px 60px}nav ul{padding:0 16px}h1{font-size:26px}h2{margin-top:44px;font-size:21px}.lead{font-size:18px}
.cells .n{font-size:22px}.cells>div{padding:11px 12px;flex-basis:42%}
.wide{display:none}.narrow{display:block}
.todo li{grid-template-columns:1.4em 3.4em 1fr;padding:8px 0}.todo .where{color:var(--soft)}.todo .where:empty{display:none}.todo .where~span{grid-column:2/-1}.todo .more{margin-left:0;display:block}
.sheet figure{width:100%}.progress li{grid-template-columns:1fr}
}
@media print{
:root{--paper:#fff;--card:#fff;--ink:#000;--soft:#444;--line:#bbb;--band:#f4ecd4;--night:#dcdae8;--grid:#eee;--warn:#000;--warnbg:#fff;--accent:#2a2f8f;--mm:.25mm;
--c1:#0072B2;--c2:#E69F00;--c3:#009E73;--c4:#CC79A7;--c5:#56B4E9;--c6:#D55E00;--c7:#7A7A7A}
body{font-size:10.5pt}main{max-width:none;padding:0}nav,.filter,.skip{display:none}h2{break-after:avoid;margin-top:26px}h3{break-after:avoid}
figure,tr,.todo li,.cells>div,.note{break-inside:avoid}.scroll{overflow:visible}.scroll svg{min-width:0!important}.pic{width:34mm}td.pictures{width:36mm}table{font-size:8.5pt}th,.small{font-size:7.5pt!important}td,th{padding:4px 8px 4px 0}.pose{min-width:100px}.of{min-width:70px}.cells>div{flex-basis:130px}.cells .n{font-size:15pt}.lead{font-size:13pt}h1{font-size:20pt}h2{font-size:15pt}.todo li{padding:3px 0}.todo .more{font-size:8.5pt}.bought{columns:2;font-size:9pt}summary,.ramp{font-size:8.5pt}#part-table td.r svg:not(.swatch){width:70px}
.sheet figure{width:max(62mm,calc(var(--w)*var(--mm)))}abbr.from{text-decoration:none}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}@page{margin:14mm}
.printscale{display:inline}}
@media not print{.printscale{display:none}}
@media (prefers-reduced-motion:no-preference){html{scroll-behavior:smooth}}
`;
