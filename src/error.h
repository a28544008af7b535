#pragma once

#include <stdexcept>
#include <string>

#include "message.h"

namespace lastroom {

/// The user's input can't be used: the file, what is wrong, what to do. Exit status 3. `what` is the English sentence.
struct InputError : std::runtime_error {
  explicit InputError(Message why) : std::runtime_error(english(why)), message(std::move(why)) {}
  /// Of what only the command line reads (rules, landmarks, lists of jobs), whose language is English.
  explicit InputError(const std::string& sentence) : InputError(own_text(sentence)) {}
  Message message;
};

/// An output can't be written. One sentence. Exit status 5.
struct OutputError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

}  // namespace lastroom
