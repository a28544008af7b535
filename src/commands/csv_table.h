#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace lastroom {

/// A CSV (RFC 4180; a byte order mark and either kind of line end are accepted) whose first line names its columns out
/// of `known`, in any order. Throws InputError that names file and line; `name` stands in front of it.
class CsvTable {
 public:
  CsvTable(std::string_view text, std::string name, std::span<const std::string_view> known);

  struct Line {
    std::size_t number = 0;  ///< where it begins in the file
    std::vector<std::string> fields;
  };
  /// Below the first one, without empty ones; each has as many fields as there are columns.
  const std::vector<Line>& lines() const { return lines_; }
  bool has(std::string_view column) const { return columns_.contains(column); }
  /// Empty where there is no such column.
  std::string field(const Line& line, std::string_view column) const;

  [[noreturn]] void fail(std::size_t line, const std::string& what) const;
  /// A field of the file, fit to stand in a message.
  static std::string shown(std::string_view field);

 private:
  void take_columns(const Line& head, std::span<const std::string_view> known);

  std::string name_;
  std::map<std::string, std::size_t, std::less<>> columns_;
  std::vector<Line> lines_;
};

}  // namespace lastroom
