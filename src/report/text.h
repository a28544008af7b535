#pragma once

#include <string>
#include <string_view>

namespace lastroom {

/// Foreign bytes (client, file names) as text that can stand in a page or a mail: valid UTF-8, at most `most`
/// characters (then an ellipsis). Bad bytes, control characters and the direction overrides that can make a name read
/// backwards (U+202A..202E, U+2066..2069) become U+FFFD.
std::string plain_text(std::string_view bytes, std::size_t most = 255);

/// `text` between double quotes as a CSS string: everything but letters, digits and spaces is escaped.
std::string css_string(std::string_view text);

}  // namespace lastroom
