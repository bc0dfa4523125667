// Package floor looks at every open car of a workshop together: which to work on next,
// when each is ready and sold, and week by week what cash they tie up, what bays they
// take and what hours they want. METHOD.md, chapter 20.
//
// New computes from plain structs; Open makes them of frozen estimates and the ledger.
package floor
