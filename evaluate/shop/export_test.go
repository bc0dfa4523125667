package shop

import "wreckoner/evaluate/tabular"

// CheckSettings reads the text of a toml by itself.
func CheckSettings(text string) ([]tabular.Problem, error) {
	starter, err := starterSettings()
	if err != nil {
		return nil, err
	}
	r := settingsReader{file: SettingsFile}
	r.read(text, starter)
	return r.problems, nil
}
