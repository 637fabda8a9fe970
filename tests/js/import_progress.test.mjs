import assert from "node:assert/strict";
import { test } from "node:test";

import { barAt } from "../../static/locates/import_progress.js";

test("the bar stands at the rows that are done, and at nothing where none can be counted", () => {
  assert.equal(barAt({ rows_done: 12_000, rows_total: 50_000 }), 12_000);
  assert.equal(barAt({ rows_done: 0, rows_total: 50_000 }), 0);
  assert.equal(barAt({ rows_done: 60_000, rows_total: 50_000 }), 50_000);
  assert.equal(barAt({ rows_done: null, rows_total: 50_000 }), null);
  assert.equal(barAt({ rows_done: null, rows_total: 0 }), null);
});
