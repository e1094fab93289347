/*
 * deskSync(address, told) keeps a model's edits on the server: each is sent at once, in
 * order, and stays in the queue until the server has it on its disk.
 *   told.state(words, fault)   what to show about it
 *   told.stale(words)          the server's table is another: load it anew
 *   told.kept()                the queue has become empty
 * sync.quiet() names the state with nothing under way; what was asked for under one name
 * is out of date once the name is another, or there was none.
 */
/* Answers that another attempt would not change; all others are waited out. */
const FINAL = [404, 409, 413, 415, 422];
async function askDesk(address, sent) {
  const asked = sent === undefined ? {} : { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(sent) };
  const answer = await fetch(address, { credentials: "same-origin", cache: "no-store", ...asked });
  const told = await answer.json().catch(() => ({ fault: "The desk gave no answer that can be read." }));
  if (!answer.ok) throw Object.assign(new Error(told.fault || "The desk did not do it."), { status: answer.status, told });
  return told;
}

function deskSync(address, told) {
  const sync = { model: null, queue: [], sending: false, epoch: 0, edits: 0 };
  sync.take = (model) => {
    sync.model = model;
    sync.queue = [];
    sync.epoch += 1;
    model.onedit = (edits, turn = "") => {
      /* What is sent is what was done then: later edits make new rows, never change these. */
      const whole = { name: crypto.randomUUID(), edits, turn };
      sync.queue.push(whole);
      sync.edits += 1;
      told.edited(edits);
      send();
    };
  };
  sync.idle = () => !sync.queue.length && !sync.sending;
  sync.quiet = () => (sync.idle() ? `${sync.epoch}:${sync.edits}` : null);
  async function send() {
    if (sync.sending || !sync.queue.length) return;
    sync.sending = true;
    const { model, epoch } = sync, batch = sync.queue[0];
    told.state("Keeping your edits …");
    try {
      const { version } = await askDesk(`${address}/tables/${model.table}/edits`, { version: model.version, ...batch });
      if (epoch === sync.epoch) {
        model.version = version;
        sync.queue.shift();
      }
    } catch (fault) {
      if (epoch === sync.epoch) {
        if (!FINAL.includes(fault.status)) {
          const shut = fault.status === 401 || fault.status === 403;
          told.state(shut ? "Not kept yet: open the desk again from its icon, and leave this page open." : "Not kept yet: the desk does not answer. Trying again …", true);
          await new Promise((done) => setTimeout(done, 1500));
        } else {
          sync.queue = [];
          sync.sending = false;
          told.stale(fault.status === 409 ? "The table was changed in another window. It is shown anew, without your last edit." : `Not done: ${fault.message}`);
          return;
        }
      }
    }
    sync.sending = false;
    if (sync.queue.length) send();
    else if (epoch === sync.epoch) told.kept();
  }
  addEventListener("beforeunload", (event) => { if (!sync.idle()) event.preventDefault(); });
  return sync;
}

/* Call a function a while after the last time it was asked for; never twice at a time. */
function settled(wait, work) {
  let timer = 0, running = false, again = false;
  const run = async () => {
    if (running) { again = true; return; }
    running = true;
    try { await work(); } finally {
      running = false;
      if (again) { again = false; run(); }
    }
  };
  return () => { clearTimeout(timer); timer = setTimeout(run, wait); };
}
