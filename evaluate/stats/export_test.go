package stats

var AndersonDarlingCDF = andersonDarlingCDF
