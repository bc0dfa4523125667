package lots

import (
	"fmt"

	"wreckoner/damage"
	"wreckoner/damage/listing"
)

// ZoneOf reads the trade's words for a zone, such as n/s/f or interior. Words that could be two zones are an error.
func ZoneOf(words string) (damage.Zone, error) {
	name, err := zoneNamed(words)
	if err != nil {
		return 0, err
	}
	return damage.ParseZone(name)
}

// PartOf reads words for a job or a part, such as "osf wing", as a zone and a class by the starter's lexicon.
func PartOf(words string) (listing.Place, bool) { return zoneLexicon().Part(words) }

// zoneNamed is zoneOf for words that stand alone.
func zoneNamed(words string) (string, error) {
	name, err := zoneOf(wordKey(words), words)
	if err != nil {
		return "", fmt.Errorf("%w", err)
	}
	return name, nil
}
