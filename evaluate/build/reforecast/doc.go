// Package reforecast takes a frozen estimate and what has been seen and spent since,
// and says anew what the car will have cost when it is done, how long that takes,
// and whether to go on.
package reforecast
