// Package prices says, from evidence that a workshop has anyway, what a car will sell for
// (adverts and own sales), what price has to be beaten at the sale (past hammer prices), and
// how much of a promised margin is left once the lot is won (own builds).
//
// [Fit] takes plain rows and gives a [Model]; the model's methods answer for one [Lot] at a time
// and never look at other lots. Nothing here reads or writes a file. Without rows and without the
// settings that turn something on, every answer is what went in, bit for bit.
//
// Logs are natural, money is pounds, ages are years, miles are miles. The method is METHOD.md 15;
// comments cite its equations.
package prices
