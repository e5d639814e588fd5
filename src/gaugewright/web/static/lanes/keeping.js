// Sending what was done to the server, one change at a time, with the version it rests on.

/** Thrown with the server's sentence. */
export class Refused extends Error {
  constructor(sentence, status, told) {
    super(sentence);
    Object.assign(this, { status, told });
  }
}

export class Keeper {
  constructor(base, version) {
    Object.assign(this, { base, version, line: Promise.resolve() });
  }

  /** Change something; changes wait for each other, so that each rests on the one before;
   * a `body` that is a function is asked when its turn comes. */
  send(what, body = {}) {
    const sent = this.line.then(() => this.post(what, body));
    this.line = sent.catch(() => null);
    return sent;
  }

  async post(what, body) {
    const answer = await fetch(`${this.base}/${what}`, {
      method: "POST",
      headers: { "content-type": "application/json", accept: "application/json" },
      body: JSON.stringify({ ...(typeof body === "function" ? body() : body), version: this.version }),
    });
    const told = await answer.json();
    if (told.version) this.version = told.version;
    if (!answer.ok) throw new Refused(told.sentence ?? String(answer.status), answer.status, told);
    return told;
  }
}
