package prices

// CRPST and CRPSLognormal are the scores, for simulations.
var (
	CRPST         = crpsT
	CRPSLognormal = crpsLognormal
)
