import { spawnSync } from 'node:child_process';
import { chromium } from 'playwright-core';
const root='/work/main'; const out='/tmp/w/rd';
const az=process.env.AZIMARK;
spawnSync('mkdir',['-p',out]); spawnSync(az,['demo',out+'/case']);
const walk=['walk_log.csv','walk.gpx'].map(f=>`${root}/fixtures/demo/${f}`);
const r=spawnSync(az,['map','--page',root+'/maps/dist/page.html',out+'/case/bearings.csv',...walk,'-o',out+'/p.html'],{encoding:'utf8'}); console.log(r.status,r.stderr.slice(0,200));
const b=await chromium.launch({executablePath:'/usr/bin/chromium',args:['--no-sandbox']});
spawnSync('bash',['-c','for p in $(pgrep chrom); do echo -19 > /proc/$p/autogroup; done']);
const c=await b.newContext({viewport:{width:390,height:844},deviceScaleFactor:2,hasTouch:true,isMobile:true,offline:true});
const page=await c.newPage(); page.setDefaultTimeout(120000);
await page.goto('file://'+out+'/p.html'); await page.waitForSelector('body[data-ready="solver"]'); await page.waitForSelector('body[data-warm]');
spawnSync('bash',['-c','for p in $(pgrep chrom); do echo -19 > /proc/$p/autogroup; done']);
const count=(n)=>page.waitForFunction((n)=>performance.getEntriesByName('azimark-first-drawn').length===n,n);
const wait=process.argv[2]==='wait'; const undo=process.argv[3]!=='cumulative';
let n=0;
for(let i=0;i<20;i++){
 const around=2.4*i; const [lat,lon]=[46.956+0.004*Math.cos(around),-118.3563+0.0058*Math.sin(around)];
 const bearing=((around*180)/Math.PI+180-14+4*Math.sin(5*i))%360;
 await page.tap('#do-bearing'); await page.fill('input[name="lat"]',lat.toFixed(6)); await page.fill('input[name="lon"]',lon.toFixed(6)); await page.fill('input[name="bearing_deg"]',bearing.toFixed(0)); await page.tap('button[data-value="B"]'); await page.tap('#keep-bearing');
 await count(++n); if(wait) await page.waitForFunction((n)=>performance.getEntriesByName('azimark-whole').length===n,n);
 if(undo){ await page.tap('#do-undo'); await count(++n); if(wait) await page.waitForFunction((n)=>performance.getEntriesByName('azimark-whole').length===n,n);}
}
const t=await page.evaluate(()=>['azimark-first-solver','azimark-first','azimark-first-drawn'].map(k=>performance.getEntriesByName(k).map(e=>e.duration)));
for(let i=0;i<t[0].length;i+=undo?2:1) console.log(t.map(x=>x[i].toFixed(0)).join(' '));
const med=(x)=>{const y=x.filter((_,i)=>!undo||i%2===0).sort((a,b)=>a-b);return (y[9]+y[10])/2};
console.log('median solver, answered, drawn', t.map(x=>med(x).toFixed(0)).join(' '));
await b.close();
