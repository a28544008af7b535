#pragma once

#include <pugixml.hpp>
#include <string>

#include "report/outputs.h"
#include "words/words.h"

namespace lastroom {

/// A page that needs nothing from outside and runs nothing; `main` takes what is on it.
struct Document {
  pugi::xml_document xml;
  pugi::xml_node main;
};
/// An empty one in the language of `words`, with its head, style and printed footer; `name` says what page it is.
void open_document(Document& document, const ReportSettings& settings, const Words& words, const std::string& name);
std::string text_of(const Document& document);

}  // namespace lastroom
