package prices

// Model 1's prior, METHOD.md 15.9: from memory, a place to begin.
var (
	ageSlope    = Normal{-0.13, 0.04}   // log price a year of age
	milesSlope  = Normal{-0.035, 0.015} // log price per 10,000 miles
	haggle      = Normal{0.04, 0.02}    // log asked over got
	standing    = Normal{0.02, 0.02}    // log asked per unit of log(1 + days/30)
	modelLevel  = Normal{9.1, 1.5}      // log price of a model at 6 years and 50,000 miles
	saleError   = 0.11                  // scale of an advert's error, log
	saleErrorN  = 8.0                   // rows that the prior scale is worth
	ageVaries   = 0.03                  // sd of a model's own slope, age
	milesVaries = 0.012                 // sd of a model's own slope, miles
	variesN     = 4.0                   // models that these sds are worth
	haggleError = 0.04                  // sd of one sale's haggle
	milesBlank  = 2.5                   // ten thousand miles: sd where the odometer is blank
	leastError  = 0.02                  // log: the adverts' own error beside sale luck is at least this
)

// The age and miles that a model's level is for: 6 years, 50,000 miles.
const centreAge, centreMiles = 6, 5

// errorDF is the degrees of freedom of the errors of model 1's rows.
const errorDF = 4

// tailFactor is the 0.9 quantile of Student's t with 4 degrees of freedom over the normal's: 1.1963672.
// 1.5332062740589438 is that quantile; the closed form is in Shaw (2006), J. Computational Finance 9, 37.
const tailFactor = 1.5332062740589438 / z90

// column is one of the coefficients of model 1 that all models share.
type column uint16

const (
	colAge column = iota
	colMiles
	colHaggle
	colStand
	colMarker  // G, in units of a row's common sd
	colListing // b
	firstOwn   // e of the marker rows that were seen
)
