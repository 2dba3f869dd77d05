/** The line to the server: what the page shows, and every change of it. */

const RETRY = [300, 1000, 3000];

class Desk {
  constructor() {
    /** What the server told last, key by key. */
    this.state = {};
    this.rights = "all";
    this._heard = new Map();
    this._waiting = new Map();
    this._refused = new Map();
    this._id = 0;
    this._tries = 0;
    this._unsent = [];
    this._asked = { step: "yard", view: "plan" };
  }

  /** Open the line; it opens itself again when it is cut. */
  connect() {
    this._socket = new WebSocket(`ws://${location.host}/live`);
    this._socket.binaryType = "arraybuffer";
    this._socket.addEventListener("open", () => {
      this._tries = 0;
      this._tell({ connected: true });
      this._socket.send(JSON.stringify({ id: ++this._id, do: "see", ...this._asked }));
      for (const words of this._unsent.splice(0)) this._socket.send(words);
    });
    this._socket.addEventListener("message", (event) => this._take(event.data));
    this._socket.addEventListener("close", () => {
      this._tell({ connected: false });
      for (const [, wait] of this._waiting) wait.done({ is: "lost" });
      this._waiting.clear();
      setTimeout(() => this.connect(), RETRY[Math.min(this._tries++, RETRY.length - 1)]);
    });
  }

  /** Call a function with a key's value whenever it changes, and at once where it is there. */
  on(key, hear) {
    if (!this._heard.has(key)) this._heard.set(key, new Set());
    this._heard.get(key).add(hear);
    if (key in this.state) hear(this.state[key], this.state);
    return () => this._heard.get(key).delete(hear);
  }

  /** Lay keys over what is there, and tell those who listen; what the page itself knows, too. */
  _tell(parts) {
    Object.assign(this.state, parts);
    for (const key of Object.keys(parts)) {
      for (const hear of this._heard.get(key) ?? []) hear(parts[key], this.state);
    }
  }

  _take(data) {
    if (data instanceof ArrayBuffer) {
      for (const hear of this._heard.get("frame") ?? []) hear(data, this.state);
      return;
    }
    const { is, id, live, again, ...parts } = JSON.parse(data);
    const wait = this._waiting.get(id);
    if (is === "state") {
      if (parts.rev !== undefined && parts.rev < (this.state.rev ?? 0)) return;
      if (!live) this._forgetSaid();
      this._tell(parts);
      if (wait && !live && parts.rev !== undefined && "undo" in parts) {
        this._end(id, { is: "done", ...parts });
      }
      if (again) this._lookAgain();
    } else if (is === "busy") {
      wait?.busy?.(parts);
    } else if (is === "told") {
      this._end(id, { is: "done" });
    } else {
      if (is === "refused") {
        const refused = { said: words(parts.problems), typed: wait?.typed };
        for (const at of wait?.ways ?? []) this._refused.set(at, refused);
      }
      this._end(id, { is, ...parts });
      // What another window changed, and a fault of ours, is told by the page whoever asked.
      const quiet = wait?.own === true || (wait?.own === "refusals" && is === "refused");
      if (!quiet) this._tell({ [is]: { id, ...parts } });
    }
  }

  _end(id, reply) {
    const wait = this._waiting.get(id);
    this._waiting.delete(id);
    wait?.done(reply);
  }

  _lookAgain() {
    clearTimeout(this._later);
    this._later = setTimeout(() => this.see({}), 250);
  }

  _send(message, { ways = [], busy, own = false, typed } = {}) {
    const id = ++this._id;
    const said = JSON.stringify({ id, base: this.state.rev ?? 0, ...message });
    const reply = new Promise((done) => this._waiting.set(id, { done, ways, busy, own, typed }));
    if (this._socket?.readyState === WebSocket.OPEN) this._socket.send(said);
    else this._unsent.push(said);
    reply.id = id;
    return reply;
  }

  /** The sentence that a way was refused with; empty for none. */
  refused(at) {
    return this._refused.get(at)?.said ?? "";
  }

  /** What was typed at a way and refused; undefined for nothing. It stays until it is mended. */
  typed(at) {
    return this._refused.get(at)?.typed;
  }

  /** What was typed at a way is taken back. */
  forget(at) {
    this._refused.delete(at);
  }

  /** Sentences of what nobody typed end with the next state: the press that they answer is over. */
  _forgetSaid() {
    for (const [at, { typed }] of this._refused) if (typed === undefined) this._refused.delete(at);
  }

  /**
   * Write a value. A live one is looked at and not kept: one is in flight, the newest waits.
   * A refusal is said at the foot of the view, but where who asks says it beside what was typed:
   * `own`, here and below. What was `typed` is kept with its refusal.
   */
  set(at, to, { live = false, said, own, typed } = {}) {
    if (live) return this._glance({ do: "set", at, to });
    return this._change({ do: "set", at, to, said }, [at], own, typed);
  }

  add(at, to, said, { own } = {}) {
    return this._change({ do: "add", at, to, said }, [at], own);
  }

  remove(at, said) {
    return this._change({ do: "remove", at, said }, [at]);
  }

  /** Make several changes as one: each {do, at, to}. */
  several(changes, said, { live = false, own } = {}) {
    const message = { do: "several", changes, said };
    return live ? this._glance(message) : this._change(message, changes.map((each) => each.at), own);
  }

  /** Write another file of the site, with changes of site.toml in the same step. */
  file(name, text, { said, changes, own } = {}) {
    return this._change({ do: "file", name, text, said, changes }, [name], own);
  }

  undo() {
    return this._change({ do: "undo" }, []);
  }

  redo() {
    return this._change({ do: "redo" }, []);
  }

  restore(rev) {
    return this._change({ do: "restore", rev }, []);
  }

  _change(message, ways, own = false, typed) {
    this._next = null;
    // Where things go or come back, ways may lead to others than those that were typed at.
    if (["remove", "undo", "redo", "restore"].includes(message.do)) this._refused.clear();
    for (const at of ways) this._refused.delete(at);
    this._tell({ working: true });
    const reply = this._send(message, { ways, own: own && "refusals", typed });
    reply.then((told) => this._tell({ working: false, ended: told }));
    return reply;
  }

  _glance(message) {
    this._tell({ working: true });
    if (this._flying) {
      this._next = message;
      return this._flying;
    }
    const reply = this._send({ ...message, live: true });
    this._flying = reply;
    reply.then(() => {
      this._flying = null;
      const next = this._next;
      this._next = null;
      if (next) this._glance(next);
    });
    return reply;
  }

  /**
   * Look at something else: a step, a view, an area, a base, a cut line, a place; what is asked
   * `once` is not asked again with the next.
   */
  see(what, once = {}) {
    Object.assign(this._asked, what);
    this._tell({ asked: { ...this._asked } });
    return this._send({ do: "see", ...this._asked, ...once });
  }

  /** Look at the document as it is kept: after a drag that was given up. */
  look() {
    return this._send({ do: "look", ...this._asked });
  }

  /** Ask something by its name. */
  call(name, told = {}, busy) {
    return this._send({ do: "call", name, with: told }, { busy, own: true });
  }

  /** Make a paper, a model or a film; its reply has the files. The promise has its `id`. */
  make(what, busy) {
    return this._send({ do: "make", what }, { busy, own: true });
  }

  cancel(id) {
    this._send({ do: "cancel", id });
  }
}

/** The sentences of problems, one below the other. */
export function words(problems) {
  return (problems ?? []).map((each) => each.words).join("\n");
}

/** Why a change was refused; empty where it was not. */
export function refusal(reply) {
  return reply?.is === "refused" ? words(reply.problems) : "";
}

/** What is typed as it is written in a file: a number where it is one. */
export function number(text) {
  const told = text.trim();
  return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(told) ? Number(told) : told;
}

export const desk = new Desk();
