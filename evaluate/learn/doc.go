// Package learn works out what finished builds say of a workshop's figures: its cost rows, its hidden rules, how it
// codes damage and how its costs hang together. It is the one account on which both learning and review rest.
//
//	learned, err := learn.Learn(table, builds, settings)
//	table = learned.Table(table)          // what to write
//	settings = learned.Settings(settings)
//	learned.Named()                       // what the builds speak for
//	learned.Habits                        // what may be said of each class
//	learned.Aside                         // what was left out, and why
//
// It takes plain structs and reads no files. There is no seed: the same builds give the same figures to the last bit,
// whatever their order. METHOD.md chapter 16 has the method; its equations are cited as "METHOD.md 16.n".
//
// The table of wrong worlds, in which simulated workshops have a truth that is not their table's, is printed by
//
//	go test ./evaluate/learn -run WrongWorlds -shops 20 -v -timeout 1h
package learn
