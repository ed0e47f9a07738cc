/** The style of what only the page's script brings to life: the choice of parts and the panel in which a piece is looked at. */
export const LOOK_STYLE: string = `
.filter select,.filter input,#look button,#look select{font:inherit;color:inherit;background:var(--card);border:1px solid var(--soft);border-radius:2px;padding:4px 8px}
.filter select{max-width:15em}.filter{line-height:2.3}.filter select,.filter input{line-height:1.3}.filter input[type=search]{width:9em}#look button{cursor:pointer}#look button:hover{border-color:var(--accent);color:var(--accent)}#look button[aria-pressed=true]{border-color:var(--accent);box-shadow:inset 0 -2px var(--accent)}
th button{font:inherit;color:inherit;background:none;border:0;padding:0;cursor:pointer;text-align:inherit}th button:hover{color:var(--accent)}th button::after{content:" ↕";opacity:.45}th[aria-sort=ascending] button::after{content:" ↑";opacity:1}th[aria-sort=descending] button::after{content:" ↓";opacity:1}
a.look{font-weight:600}img.pic.opens{cursor:pointer}
dialog#look{width:min(1180px,calc(100vw - 24px));height:calc(100vh - 24px);max-width:none;max-height:none;border:1px solid var(--ink);padding:0;background:var(--paper);color:var(--ink)}
#look [hidden]{display:none!important}
dialog#look::backdrop{background:#000;opacity:.45}
#look>header{position:sticky;top:0;z-index:2;display:flex;justify-content:space-between;gap:12px;align-items:baseline;flex-wrap:wrap;padding:12px 20px;background:var(--paper);border-bottom:1px solid var(--line)}
#look h2{border:0;margin:0;padding:0;font-size:21px}#look .steps{display:flex;gap:6px;font-size:14px}
#look .look{display:grid;grid-template-columns:minmax(0,1.25fr) minmax(0,1fr);gap:4px 26px;padding:12px 20px 30px}
#look .layers{grid-column:1}#look .about{grid-column:2;grid-row:1/span 2;font-size:15px;min-width:0}#look .about h3{font-size:16px}
#look canvas{display:block;width:100%;height:min(44vh,460px);touch-action:none;border:1px solid var(--line);background:var(--card)}
#look .nothing{padding:60px 20px;border:1px solid var(--line);text-align:center}#look .keys{margin:4px 0 6px}
#look .ways{display:flex;flex-wrap:wrap;gap:6px 10px;align-items:center;font-size:14px;margin:6px 0}#look .scale{display:inline-flex;gap:6px;align-items:center;white-space:nowrap}#look .scale svg{width:120px}
#look .chart svg{width:100%;height:auto;display:block}#look input[type=range]{width:100%;margin:0;accent-color:var(--accent)}
#look .poses,#look .findings{list-style:none;padding:0;margin:0}#look .poses li,#look .findings li{margin:0 0 7px}#look .poses button,#look .findings button{font-size:14px;padding:2px 8px}
@media (max-width:860px){dialog#look{width:100vw;height:100vh;height:100dvh;border:0;margin:0}#look .look{display:block;padding:10px 14px 30px}#look>header{padding:10px 14px}#look canvas{height:46vh}}
@media print{dialog#look{display:none}th button::after{content:""}}
`;
