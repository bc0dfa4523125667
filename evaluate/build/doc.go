// Package build holds what was believed of a car against what became of it: the
// frozen estimate, the finished build beside it, many builds together, and what
// the book should say next time.
package build
