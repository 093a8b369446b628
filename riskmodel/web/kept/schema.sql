-- Answers are never changed; what became of a child is added line by line, and the last line holds.
CREATE TABLE answer (
    id TEXT PRIMARY KEY,
    case_id TEXT NOT NULL,
    kept_by TEXT NOT NULL,
    kept_on TEXT NOT NULL,
    model TEXT NOT NULL,
    title TEXT NOT NULL,
    digest TEXT NOT NULL,
    outcome TEXT NOT NULL,
    horizon_months REAL,
    demonstration INTEGER NOT NULL,
    typed TEXT NOT NULL,
    answer TEXT NOT NULL
) STRICT;
CREATE INDEX answer_of_case ON answer (case_id);
CREATE TABLE since (
    line INTEGER PRIMARY KEY AUTOINCREMENT,
    case_id TEXT NOT NULL,
    outcome TEXT NOT NULL,
    horizon_months REAL,
    event TEXT NOT NULL,
    operated TEXT,
    noted_by TEXT NOT NULL,
    noted_on TEXT NOT NULL
) STRICT;
CREATE INDEX since_of_case ON since (case_id, outcome);
