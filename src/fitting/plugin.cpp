// SPDX-License-Identifier: Apache-2.0
// Loading the solver costs about 10 ms, which a program that fits nothing should not pay.
#include <dlfcn.h>
#include <fmt/format.h>

#include <filesystem>
#include <system_error>

#include "base/problems.hpp"
#include "fitting/detail/plugin.hpp"

namespace hardpan::fitting::detail {

std::vector<std::string> plugin_folders() {
  std::error_code error;
  const std::filesystem::path program = std::filesystem::read_symlink("/proc/self/exe", error);
  if (error) throw base::EnvironmentError("cannot tell where the program lies: /proc/self/exe is not readable");
  const std::filesystem::path folder = program.parent_path();
  return {folder.string(), (folder.parent_path() / "lib" / "hardpan").string()};
}

const Plugin& load_plugin(const std::vector<std::string>& folders) {
  std::string tried;
  for (const std::string& folder : folders) {
    const std::string file = folder + "/" + kPluginFile;
    tried += (tried.empty() ? "" : ", ") + folder;
    std::error_code error;
    if (!std::filesystem::exists(file, error)) continue;
    void* library = dlopen(file.c_str(), RTLD_NOW | RTLD_LOCAL);
    if (library == nullptr) {
      throw base::EnvironmentError(fmt::format("the fitting solver {} cannot be loaded: {}", file, dlerror()));
    }
    const auto entry = reinterpret_cast<PluginEntry>(dlsym(library, "hardpan_fitting_plugin"));
    const Plugin* found = entry == nullptr ? nullptr : entry();
    if (found == nullptr || found->version != kPluginVersion) {
      throw base::EnvironmentError(
          fmt::format("{} belongs to another version of the program; install both together", file));
    }
    return *found;
  }
  throw base::EnvironmentError(
      fmt::format("{} was not found in {}; install it with the program", kPluginFile, tried));
}

const Plugin& plugin() {
  static const Plugin& loaded = load_plugin(plugin_folders());
  return loaded;
}

}  // namespace hardpan::fitting::detail
