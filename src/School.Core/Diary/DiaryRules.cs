namespace School.Core.Diary;

/// <summary>The school's settings for what may be booked.</summary>
public sealed record DiaryRules
{
    /// <summary>Lessons start every so many minutes, counted from local midnight; a divisor of 1,440, 5 to 120.</summary>
    public int GridMinutes { get; init; } = 15;

    /// <summary>The lengths of lesson on offer, in minutes; each 15 to 480.</summary>
    public IReadOnlyList<int> LessonMinutes { get; init; } = [60, 90, 120];

    /// <summary>Minutes kept free beside every drive, for parking and a word at the door; 0 to 60.</summary>
    public int BufferMinutes { get; init; } = 5;

    /// <summary>A pupil books at least this many hours ahead; 0 to 720.</summary>
    public int NoticeToBookHours { get; init; } = 24;

    /// <summary>A pupil moves or cancels free of charge at least this many hours ahead; 0 to 720. Never forbids a slot.</summary>
    public int NoticeToMoveHours { get; init; } = 48;

    /// <summary>A pupil books at most this many days after today; 1 to 730.</summary>
    public int HorizonDays { get; init; } = 84;

    /// <summary>After this many minutes' continuous work a rest is due before the next lesson; 30 to 600.</summary>
    /// <remarks>Default from The Highway Code, rule 91: a break of at least 15 minutes after every two hours' driving.</remarks>
    public int RestAfterMinutes { get; init; } = 120;

    /// <summary>How long a rest lasts at least; 0 to 120, and 0 means that no rests are asked for.</summary>
    public int RestMinutes { get; init; } = 15;

    /// <summary>Most lesson minutes of one instructor on one date; 15 to 1,440.</summary>
    public int DailyTeachingMinutes { get; init; } = 480;

    /// <summary>The same for a trainee, if lower; null for no limit of their own.</summary>
    public int? TraineeDailyTeachingMinutes { get; init; }

    /// <summary>Whether the drive from the instructor's base to the first place must lie inside working hours.</summary>
    public bool FirstLegIsWork { get; init; }

    /// <summary>Whether the drive from the last place back to the base must lie inside working hours.</summary>
    public bool LastLegIsWork { get; init; }

    /// <summary>Youngest age for a lesson on the road; 14 to 30. Great Britain: 17 (https://www.gov.uk/driving-lessons-learning-to-drive).</summary>
    public int MinimumAge { get; init; } = 17;

    /// <summary>Youngest age with the enhanced mobility component of PIP; 14 to 30. Great Britain: 16.</summary>
    public int MinimumAgeWithMobilityAward { get; init; } = 16;

    /// <summary>What is wrong, by name of the property; empty when all is well.</summary>
    public IReadOnlyDictionary<string, string> Validate()
    {
        var errors = new Dictionary<string, string>();
        Within(nameof(GridMinutes), GridMinutes, 5, 120, "The grid", "minutes");
        if (!errors.ContainsKey(nameof(GridMinutes)) && 1440 % GridMinutes != 0)
        {
            errors[nameof(GridMinutes)] = "The grid must divide the day evenly, for example 5, 10, 15, 30 or 60 minutes.";
        }

        if (LessonMinutes.Count == 0)
        {
            errors[nameof(LessonMinutes)] = "Offer at least one length of lesson.";
        }
        else if (LessonMinutes.Any(minutes => minutes is < 15 or > 480))
        {
            errors[nameof(LessonMinutes)] = "Every length of lesson must be from 15 to 480 minutes.";
        }
        else if (LessonMinutes.Distinct().Count() != LessonMinutes.Count)
        {
            errors[nameof(LessonMinutes)] = "Every length of lesson may be given only once.";
        }

        Within(nameof(BufferMinutes), BufferMinutes, 0, 60, "The buffer", "minutes");
        Within(nameof(NoticeToBookHours), NoticeToBookHours, 0, 720, "Notice to book", "hours");
        Within(nameof(NoticeToMoveHours), NoticeToMoveHours, 0, 720, "Notice to move", "hours");
        Within(nameof(HorizonDays), HorizonDays, 1, 730, "The booking horizon", "days");
        Within(nameof(RestAfterMinutes), RestAfterMinutes, 30, 600, "Work before a rest", "minutes");
        Within(nameof(RestMinutes), RestMinutes, 0, 120, "A rest", "minutes");
        Within(nameof(DailyTeachingMinutes), DailyTeachingMinutes, 15, 1440, "The daily limit", "minutes");
        if (TraineeDailyTeachingMinutes is { } trainee)
        {
            Within(nameof(TraineeDailyTeachingMinutes), trainee, 15, 1440, "The daily limit of a trainee", "minutes");
        }

        Within(nameof(MinimumAge), MinimumAge, 14, 30, "The minimum age", "years");
        Within(nameof(MinimumAgeWithMobilityAward), MinimumAgeWithMobilityAward, 14, 30, "The minimum age with the mobility award", "years");
        return errors;

        void Within(string field, int value, int least, int most, string subject, string unit)
        {
            if (value < least || value > most)
            {
                errors[field] = $"{subject} must be from {least} to {most} {unit}.";
            }
        }
    }
}
