package year

// MarginWith is marginWith, for tests.
var MarginWith = marginWith
