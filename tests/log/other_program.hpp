// Another program at the same file, by SQLite alone.
#pragma once

#include <sqlite3.h>

#include <filesystem>
#include <string>

namespace proofwalk::log::sample {

class OtherProgram {
public:
    explicit OtherProgram(const std::filesystem::path& file) { sqlite3_open(file.c_str(), &connection_); }
    OtherProgram(const OtherProgram&) = delete;
    OtherProgram& operator=(const OtherProgram&) = delete;
    ~OtherProgram() { sqlite3_close(connection_); }

    // The message of a failure; empty when all went well.
    std::string run(const std::string& sql) {
        char* text = nullptr;
        sqlite3_exec(connection_, sql.c_str(), nullptr, nullptr, &text);
        const std::string message = text ? text : "";
        sqlite3_free(text);
        return message;
    }
    // First column of the first row as text.
    std::string value(const std::string& sql) {
        sqlite3_stmt* statement = nullptr;
        sqlite3_prepare_v2(connection_, sql.c_str(), -1, &statement, nullptr);
        std::string text;
        if (sqlite3_step(statement) == SQLITE_ROW)
            if (const unsigned char* data = sqlite3_column_text(statement, 0)) text = reinterpret_cast<const char*>(data);
        sqlite3_finalize(statement);
        return text;
    }
    // Runs statements as somebody would who wants to hide them: without the guards, which stand again afterwards.
    std::string run_unguarded(const std::string& sql) {
        std::string guards, drops;
        sqlite3_stmt* statement = nullptr;
        sqlite3_prepare_v2(connection_, "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'", -1, &statement, nullptr);
        while (sqlite3_step(statement) == SQLITE_ROW) {
            drops += std::string("DROP TRIGGER ") + reinterpret_cast<const char*>(sqlite3_column_text(statement, 0)) + ";";
            guards += std::string(reinterpret_cast<const char*>(sqlite3_column_text(statement, 1))) + ";";
        }
        sqlite3_finalize(statement);
        std::string message = run(drops);
        message += run(sql);
        message += run(guards);
        return message;
    }

private:
    sqlite3* connection_ = nullptr;
};

}  // namespace proofwalk::log::sample
