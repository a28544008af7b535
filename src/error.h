#pragma once

#include <stdexcept>
#include <string>

namespace lastroom {

/// The user's input can't be used. One sentence: the file, what is wrong, what to do. Exit status 3.
struct InputError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// An output can't be written. One sentence. Exit status 5.
struct OutputError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

}  // namespace lastroom
