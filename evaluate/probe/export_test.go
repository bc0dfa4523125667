package probe

// For tests against published values.
var (
	VarianceShare = varianceShare
	SetWorth      = setWorth
)
