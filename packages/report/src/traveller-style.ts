/** One sheet a page of A4 or letter; readable on a screen as well. One ink, so that any printer will do; swatches keep their colour. */
export const TRAVELLER_STYLE: string = `
:root{--ink:#1d1c1a;--soft:#595650;--line:#cfcabd;--card:#fff;--grid:#efebe1;--mm:.3333mm;--serif:Charter,"Bitstream Charter","Sitka Text",Cambria,"Liberation Serif",serif}
*{box-sizing:border-box}body{margin:0;background:#f1efe9;color:var(--ink);font:9.6pt/1.36 system-ui,Roboto,"Liberation Sans",sans-serif;font-variant-numeric:tabular-nums}
.sheet{background:#fff;width:190mm;max-width:100%;margin:8mm auto;padding:8mm}
header{border-bottom:1.5pt solid var(--ink);margin-bottom:4mm}h1{font:600 17pt/1.2 var(--serif);margin:0}header p{margin:1mm 0 1.5mm;color:var(--soft)}.mark{float:right;font-family:ui-monospace,"Liberation Mono",monospace}
h2{font:600 11pt/1.2 var(--serif);margin:3mm 0 1mm}h2:first-child{margin-top:0}p{margin:0 0 1.5mm}
.top{display:flex;flex-wrap:wrap;gap:4mm 6mm}.top>div{flex:1 1 48mm}figure{margin:0}.top figure{width:calc(var(--w)*var(--mm));max-width:100%}.top figure svg{width:100%;height:auto;display:block}
figcaption,.note,.soft,.key{color:var(--soft);font-size:8pt}.key b{color:var(--ink)}
table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;padding:.7mm 2mm .7mm 0;border-bottom:.4pt solid var(--line)}th{font-weight:500;color:var(--soft)}.r{text-align:right}
.facts{margin-bottom:3mm}.compare td.write,.outcome td.write{border-bottom:.8pt solid var(--soft);width:24mm}.compare .note{margin-top:1mm}
.swatch{display:inline-block;width:2.6mm;height:2.6mm;margin-right:1.4mm;vertical-align:-.2mm}abbr.from{text-decoration:none}
.poses{display:flex;flex-wrap:wrap;gap:2mm 4mm;margin:3mm 0;border-top:.4pt solid var(--line);padding-top:2mm}.poses figure{width:52mm}.poses img{width:100%;height:auto;display:block}.poses figcaption b{color:var(--ink);font-weight:600}
.two{display:flex;flex-wrap:wrap;gap:2mm 8mm;border-top:.4pt solid var(--line);padding-top:2.5mm}.two>div{flex:1 1 76mm}
.ticks{list-style:none;margin:0;padding:0}.ticks li{padding:.5mm 0 .5mm 5mm;position:relative}.ticks li::before,.box::before{content:"";display:inline-block;width:2.8mm;height:2.8mm;border:.8pt solid var(--ink);border-radius:.4mm}.ticks li::before{position:absolute;left:0;top:1.2mm}
.outcome{margin-top:4mm}.outcome td{padding-top:1.1mm;padding-bottom:1.1mm}.write.short{display:inline-block;width:16mm;border-bottom:.8pt solid var(--soft)}
.outcome+.note{margin-top:2mm}footer{margin-top:4mm;border-top:.4pt solid var(--line);padding-top:1.5mm;color:var(--soft);font-size:7.5pt}
@media print{body{background:#fff}.sheet{width:auto;margin:0;padding:0;break-after:page}.sheet:last-child{break-after:auto}tr,figure,.ticks li,.top{break-inside:avoid}@page{margin:12mm}*{print-color-adjust:exact;-webkit-print-color-adjust:exact}}
`;
