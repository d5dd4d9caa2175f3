import assert from "node:assert/strict";
import { test } from "node:test";
import { asSent, shownState, Unsent, type Store } from "../src/table/unsent";

class Memory implements Store {
  readonly kept = new Map<string, string>();
  full = false;
  getItem(key: string): string | null {
    return this.kept.get(key) ?? null;
  }
  setItem(key: string, value: string): void {
    if (this.full) throw new Error("no room");
    this.kept.set(key, value);
  }
  removeItem(key: string): void {
    this.kept.delete(key);
  }
}

test("what was not answered is there again after the telephone slept", () => {
  const store = new Memory();
  const before = new Unsent("ticks", store);
  before.say("a#1", "done", 10);
  before.say("a#2", "done", 20);
  before.say("a#2", "undone", 30);
  const after = new Unsent("ticks", store);
  assert.deepEqual(after.all, [{ piece: "a#1", to: "done", at: 10 }, { piece: "a#2", to: "undone", at: 30 }]);
  after.answered(after.all);
  assert.equal(after.size, 0);
  assert.equal(store.kept.size, 0);
});

test("what was said while the answer was on its way stays", () => {
  const unsent = new Unsent("ticks", new Memory());
  unsent.say("a#1", "done", 10);
  const sent = unsent.all;
  unsent.say("a#1", "undone", 20);
  unsent.answered(sent);
  assert.equal(unsent.of("a#1"), "undone");
});

test("two pages on one telephone keep one list, the later word of each piece", () => {
  const store = new Memory();
  const [one, other] = [new Unsent("ticks", store), new Unsent("ticks", store)];
  one.say("a#1", "done", 10);
  other.say("a#2", "done", 15);
  one.read();
  assert.equal(one.size, 2);
  one.answered(one.all);
  other.read();
  assert.equal(other.size, 0, "what one page had answered, the other does not send again");
});

test("a store that is full, wrong or missing loses nothing of this page", () => {
  const full = new Memory();
  full.full = true;
  const unsent = new Unsent("ticks", full);
  unsent.say("a#1", "done", 1);
  assert.equal(unsent.of("a#1"), "done");
  assert.equal(unsent.lasting, false);
  const wrong = new Memory();
  wrong.kept.set("ticks", '[{"piece":1},{"piece":"b","to":"done","at":2},"x"');
  assert.equal(new Unsent("ticks", wrong).size, 0);
  wrong.kept.set("ticks", '[{"piece":1},{"piece":"b","to":"done","at":2},"x"]');
  assert.equal(new Unsent("ticks", wrong).size, 1);
  assert.equal(new Unsent("ticks", null).lasting, false);
});

test("ages are sent, not times, and never negative", () => {
  assert.deepEqual(asSent([{ piece: "a", to: "done", at: 1000 }], 3500), [{ piece: "a", to: "done", age_s: 2.5 }]);
  assert.equal(asSent([{ piece: "a", to: "done", at: 9000 }], 3500)[0]?.age_s, 0);
});

test("what was said here is shown before what the workroom told", () => {
  const unsent = new Unsent("ticks", new Memory());
  const told = { a: "spoiled", b: "done" };
  assert.equal(shownState("a", unsent, told), "spoiled");
  unsent.say("a", "done", 1);
  unsent.say("b", "undone", 1);
  assert.equal(shownState("a", unsent, told), "done");
  assert.equal(shownState("b", unsent, told), "");
  assert.equal(shownState("c", unsent, told), "");
});
