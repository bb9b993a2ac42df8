// libical asks ICU for the calendars of a recurrence rule (icalrecur.c alone). Baybook writes no recurrence rules, so ICU and its 30 MB
// of data stay out of the command: what libical would ask is answered here with "not supported", as ICU itself answers when
// it lacks a service. libical then reports a rule that it cannot follow; nothing silently comes out wrong (docs/decisions/0014).
//
// The names and their types come from ICU's own headers, which also give them the version that libical was linked for.
#define U_SHOW_CPLUSPLUS_API 0
#include <unicode/ucal.h>
#include <unicode/uenum.h>
#include <unicode/uloc.h>
#include <unicode/ustring.h>

namespace {
void refuse(UErrorCode* status) {
  if (status != nullptr) *status = U_UNSUPPORTED_ERROR;
}
}  // namespace

extern "C" {

UCalendar* ucal_open(const UChar*, int32_t, const char*, UCalendarType, UErrorCode* status) {
  refuse(status);
  return nullptr;
}
void ucal_close(UCalendar*) {}
void ucal_add(UCalendar*, UCalendarDateFields, int32_t, UErrorCode* status) { refuse(status); }
int32_t ucal_get(const UCalendar*, UCalendarDateFields, UErrorCode* status) {
  refuse(status);
  return 0;
}
void ucal_set(UCalendar*, UCalendarDateFields, int32_t) {}
int32_t ucal_getLimit(const UCalendar*, UCalendarDateFields, UCalendarLimitType, UErrorCode* status) {
  refuse(status);
  return 0;
}
UDate ucal_getMillis(const UCalendar*, UErrorCode* status) {
  refuse(status);
  return 0;
}
void ucal_setMillis(UCalendar*, UDate, UErrorCode* status) { refuse(status); }
void ucal_setDate(UCalendar*, int32_t, int32_t, int32_t, UErrorCode* status) { refuse(status); }
void ucal_setDateTime(UCalendar*, int32_t, int32_t, int32_t, int32_t, int32_t, int32_t, UErrorCode* status) { refuse(status); }
void ucal_setAttribute(UCalendar*, UCalendarAttribute, int32_t) {}
UEnumeration* ucal_getKeywordValuesForLocale(const char*, const char*, UBool, UErrorCode* status) {
  refuse(status);
  return nullptr;
}
void uenum_close(UEnumeration*) {}
const char* uenum_next(UEnumeration*, int32_t*, UErrorCode* status) {
  refuse(status);
  return nullptr;
}
int32_t uloc_setKeywordValue(const char*, const char*, char*, int32_t, UErrorCode* status) {
  refuse(status);
  return 0;
}
UChar* u_strFromUTF8Lenient(UChar*, int32_t, int32_t*, const char*, int32_t, UErrorCode* status) {
  refuse(status);
  return nullptr;
}

}  // extern "C"
