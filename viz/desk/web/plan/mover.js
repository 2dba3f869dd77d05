// What is dragged is written while it goes: one change in flight, the newest waits, the last is sent.

export class Mover {
  /** @param {{set: Function}} desk
   *  @param {() => void} settled called when all that was sent is answered */
  constructor(desk, settled) {
    this.desk = desk;
    this.settled = settled;
    this.flying = false;
    this.waiting = null;
    this.sent = 0;
  }

  /** Whether something is on its way. */
  get busy() {
    return this.flying || this.waiting !== null;
  }

  /** Write a change; `last` ends the drag, and is never dropped.
   *  @param {{at: string, to: any, also?: object[]}} change `also`: what is moved along with it
   *  @param {string} said what undo calls it */
  send(change, said, last) {
    this.waiting = { ...change, said, live: !last };
    if (!this.flying) this.#fly();
  }

  async #fly() {
    const { at, to, also, said, live } = this.waiting;
    this.waiting = null;
    this.flying = true;
    this.sent += 1;
    try {
      if (also) await this.desk.several([{ do: "set", at, to }, ...also], said, { live });
      else await this.desk.set(at, to, { live, said });
    } catch {
      // What is refused stays as it was: the field or the line beside the plan says why.
    }
    this.flying = false;
    if (this.waiting) this.#fly();
    else this.settled();
  }
}
