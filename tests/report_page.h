#pragma once

#include <pugixml.hpp>
#include <string>
#include <vector>

#include "report_sample.h"

namespace lastroom::test {

/// The page, read back as XML. Every element in document order.
struct ReadPage {
  pugi::xml_document document;
  std::vector<pugi::xml_node> elements;
};

inline void collect(pugi::xml_node node, std::vector<pugi::xml_node>& elements) {
  for (const pugi::xml_node child : node.children()) {
    if (child.type() != pugi::node_element) continue;
    elements.push_back(child);
    collect(child, elements);
  }
}

inline bool read_page(const std::string& html, ReadPage& page) {
  const bool ok =
      page.document.load_string(html.c_str(), pugi::parse_default | pugi::parse_ws_pcdata | pugi::parse_doctype);
  collect(page.document, page.elements);
  return ok;
}

/// All text of an element, in order.
inline std::string text_of(pugi::xml_node node) {
  std::string text;
  for (const pugi::xml_node child : node.children()) {
    text += child.type() == pugi::node_pcdata ? std::string(child.value()) : text_of(child);
  }
  return text;
}

inline std::string attribute(pugi::xml_node node, const char* name) { return node.attribute(name).value(); }

}  // namespace lastroom::test
