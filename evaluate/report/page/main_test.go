package page_test

import (
	"testing"

	"wreckoner/evaluate/report/browsertest"
)

func TestMain(m *testing.M) { browsertest.Run(m) }
