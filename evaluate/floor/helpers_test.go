package floor_test

import "wreckoner/evaluate/deal"

func dealPaid(hammer, transport *float64) deal.Paid {
	return deal.Paid{Hammer: hammer, Transport: transport}
}
