package probe

// VarianceShare is for tests against published values.
var VarianceShare = varianceShare
