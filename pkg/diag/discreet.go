package diag

import "regexp"

// gone stands where something was left out of a text.
const gone = "…"

// What a text of a log may give away. A coordinate is told by its four decimals or more, as no
// other number that a message repeats has them but a time, which stands behind a colon; or by its
// degrees and minutes. A number of a device is told by the word before it, or by its length.
var (
	coordinate = regexp.MustCompile(`(^|[^0-9:.,])[-+]?[0-9]{1,5}[.,][0-9]{4,}`)
	degrees    = regexp.MustCompile(`(?i)[-+]?[0-9]{1,3}(?:[.,][0-9]+)?\s*(?:°|º|deg)\s*[NSEW]\b`)
	minutes    = regexp.MustCompile(`[-+]?[0-9]{1,3}\s*[°º]\s*[0-9]{1,2}(?:[.,][0-9]+)?\s*['′’](?:\s*[0-9]{1,2}(?:[.,][0-9]+)?\s*["″”])?(?:\s*[NSEW]\b)?`)
	labelled   = regexp.MustCompile(`(?i)\b((?:serial(?:[ _-]*(?:no|number|num|nr))?|s/n|sn|unique[ _-]*id|chip[ _-]*id|device[ _-]*id|uid|imei|iccid|mac|vin)\b[.:=# ]*)[0-9a-z][0-9a-z:/-]*[0-9][0-9a-z:/-]*`)
	long       = regexp.MustCompile(`(?i)\b(?:0x)?[0-9a-f]{10,}\b`)
)

// Discreet is a text of a log, or of what is wrong with it, without coordinates and without the
// serial numbers of devices: these leave no machine by way of a message.
func Discreet(text string) string {
	text = labelled.ReplaceAllString(text, "${1}"+gone)
	text = minutes.ReplaceAllString(text, gone)
	text = degrees.ReplaceAllString(text, gone)
	text = coordinate.ReplaceAllString(text, "${1}"+gone)
	return long.ReplaceAllString(text, gone)
}
