package page

// A term is a word of a page, and what it means.
type term struct{ Name, Meaning string }

// saleTerms are the words of the sale's page.
var saleTerms = []term{
	{"stop at", "The price not to go beyond. Nothing is worth it: don't bid."},
	{"held by", "What keeps the price from being higher: risk (the chance of a loss passes your limit), target (the " +
		"average margin falls below what you want), cash, or the car's value."},
	{"go after", "Worth it at the guide price."},
	{"if cheap", "Worth it from three quarters of the guide price up, but not at the guide price."},
	{"long shot", "Worth it only below three quarters of the guide price."},
	{"no guide", "The list has no guide price: worth it up to the price to stop at."},
	{"average", "The average of many such cars. Averages add up, likely figures don't."},
	{"likely", "Half of such cars come out below this figure, half above."},
	{"likely range", "8 such cars in 10 end in it."},
	{"loss", "The chance of losing money at the guide price."},
	{"margin", "What is left of the sale price after everything, your hours at your labour rate included."},
	{"suspected", "Damage that may be there, included at its chance."},
	{"hidden damage", "Damage that nobody saw but that often comes with what was seen."},
}

// Terms are for the template.
func (*saleView) Terms() []term { return saleTerms }
