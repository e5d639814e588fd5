// Lane data over HTTP: one request in flight, the newest wish next, stale answers ignored.

const MARGIN = 0.5;

/** What the server sent for one window: per lane and column least, greatest and mean value. */
export class Piece {
  constructor(begin, finish, columns, lanes, values) {
    Object.assign(this, { begin, finish, columns, lanes, values });
  }

  /** The (least, greatest, mean) triples of one lane. */
  lane(place) {
    const size = this.columns * 3;
    return this.values.subarray(place * size, (place + 1) * size);
  }

  /** Seconds that one column is wide. */
  get step() {
    return (this.finish - this.begin) / this.columns;
  }

  covers(begin, finish) {
    const slack = 1e-6 * (finish - begin);
    return this.begin <= begin + slack && this.finish >= finish - slack;
  }
}

/** Fetches windows of a recording's lanes; fires "arrived" and "failed". */
export class LaneData extends EventTarget {
  constructor(address, lanes) {
    super();
    Object.assign(this, { address, lanes, piece: null, wish: null, busy: false, sent: 0, age: 0 });
  }

  /** Ask for a window in as many columns; answered at once by what is there when it will do. */
  ask(begin, finish, columns, limits) {
    const per = (finish - begin) / columns;
    const there = this.piece;
    const fine = there && there.covers(begin, finish) && there.step <= per * 1.001;
    if (fine && there.step > per * 0.45) return;
    const margin = MARGIN * (finish - begin);
    const from = Math.max(begin - margin, limits[0]);
    const to = Math.min(finish + margin, limits[1]);
    this.wish = { from, to, columns: Math.max(Math.round((to - from) / per), 1) };
    this.next();
  }

  /** Throw away what is there and what is on its way: the lanes mean something else now. */
  forget() {
    this.piece = null;
    this.age += 1;
  }

  async next() {
    if (this.busy || !this.wish) return;
    const { wish, age } = this;
    this.wish = null;
    this.busy = true;
    this.sent += 1;
    try {
      const piece = await this.fetch(wish);
      if (age === this.age) this.take(piece);
    } catch (problem) {
      this.dispatchEvent(new CustomEvent("failed", { detail: problem }));
    } finally {
      this.busy = false;
    }
    this.next();
  }

  take(piece) {
    this.piece = piece;
    this.dispatchEvent(new Event("arrived"));
  }

  async fetch({ from, to, columns }) {
    const query = new URLSearchParams({ begin: from, finish: to, columns });
    const answer = await fetch(`${this.address}?${query}`, { headers: { accept: "application/octet-stream" } });
    if (!answer.ok) throw new Error(`lanes: ${answer.status}`);
    return pieceOf(await answer.arrayBuffer(), this.lanes);
  }
}

/** The binary form: begin, finish (float64), columns, lanes (uint32), then float32 triples. */
export function pieceOf(buffer, lanes) {
  const head = new DataView(buffer, 0, 24);
  const columns = head.getUint32(16, true);
  const count = head.getUint32(20, true);
  if (count !== lanes) throw new Error(`lanes: ${count} came, ${lanes} are drawn`);
  const values = new Float32Array(buffer, 24);
  return new Piece(head.getFloat64(0, true), head.getFloat64(8, true), columns, count, values);
}
