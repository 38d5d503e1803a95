// Records of a damaged log, first through the database as far as it goes, then from its pages one by one.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "log/assembly.hpp"

namespace proofwalk::log {

class FoundRecords {
public:
    // Looks through a working copy; `scratch` is a file that this object may make.
    FoundRecords(const std::filesystem::path& copy, const std::filesystem::path& scratch);

    // Records whose content is what their hash says, in the order of a log.
    [[nodiscard]] std::vector<SourceRecord> proven() const;
    // Records of which the spine is there but not the whole content, or of which only the name is left.
    [[nodiscard]] std::vector<std::string> lost() const;

private:
    void look(const Database& database);

    std::vector<std::unique_ptr<Database>> databases_;
    std::map<std::string, SourceRecord> proven_, seen_;  // by hash
};

}  // namespace proofwalk::log
