// What a shared libbaybook shows to other programs: everything between the two marks, and nothing else.
#pragma once

#if defined(__GNUC__)
#define BAYBOOK_API_BEGIN _Pragma("GCC visibility push(default)")
#define BAYBOOK_API_END _Pragma("GCC visibility pop")
#else
#define BAYBOOK_API_BEGIN
#define BAYBOOK_API_END
#endif
