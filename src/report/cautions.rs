//! What is said wherever practising can hurt, and what a figure is not: the same words everywhere.

/// The caution about hearing, said before sound and in every report (NIOSH 2015-184: 85 dBA for 8 hours, 3 dB more halves
/// the time).
pub const HEARING: &str = "Start quiet, above all on headphones. 85 dBA is the recommended limit for 8 hours a day; 3 dB more halves the \
     time. Ringing or dull hearing afterwards: it was too loud; if it stays, see a doctor.";

/// The caution about strain, in every report (common practice; sudden rises in load: Chan & Ackermann, 2014, from memory).
pub const STRAIN: &str = "Pause 5 minutes each 25 to 30. Stop on pain, numbness or tingling, and see a clinician. Raise weekly time \
     gradually.";

/// What a tone mix is not, said in every report.
pub const FOCUS: &str = "A tone mix is a study focus, not a measure of music, and not for marks: it says nothing about time, tone or \
     phrase. 100 % chord tones is an arpeggio exercise.";
