// What is dragged is written while it goes: one change in flight, the newest waits, the last is sent.

export class Mover {
  /** @param {{set: Function}} desk
   *  @param {() => void} settled called when all that was sent is answered */
  constructor(desk, settled) {
    this.desk = desk;
    this.settled = settled;
    this.busy = false; // whether something is on its way
    this.waiting = null;
  }

  /** Write a change; `last` ends the drag, and is never dropped.
   *  @param {{at: string, to: any, also?: object[]}} change `also`: what is moved along with it
   *  @param {string} said what undo calls it */
  send(change, said, last) {
    this.waiting = { ...change, said, live: !last };
    if (!this.busy) this.#fly();
  }

  async #fly() {
    const { at, to, also, said, live } = this.waiting;
    this.waiting = null;
    this.busy = true;
    // What is refused stays as it was: the field or the line beside the plan says why.
    if (also) await this.desk.several([{ do: "set", at, to }, ...also], said, { live });
    else await this.desk.set(at, to, { live, said });
    this.busy = false;
    if (this.waiting) this.#fly();
    else this.settled();
  }
}
