// SPDX-License-Identifier: Apache-2.0
// Text as found in files (UTF-8, or single bytes of Windows-1252) to the ASCII signs this module
// reads: the degree sign becomes "deg", plus-minus "+/-", a raised dot "*", superscripts "^2",
// typographic minus, quotes, fractions and blanks their typewriter forms. Letters of other
// alphabets stay as they are.
#pragma once

#include <string>
#include <string_view>

namespace hardpan::units::detail {

[[nodiscard]] std::string plain_text(std::string_view text);  // also trims and joins blanks
[[nodiscard]] std::string_view trim(std::string_view text);
[[nodiscard]] std::string lower(std::string_view text);  // ASCII letters only
[[nodiscard]] bool is_letter(char c);                    // ASCII
[[nodiscard]] bool is_digit(char c);

}  // namespace hardpan::units::detail
