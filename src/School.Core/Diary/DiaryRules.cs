namespace School.Core.Diary;

/// <summary>The school's settings for what may be booked.</summary>
public sealed record DiaryRules
{
    /// <summary>Lessons start every so many minutes, counted from local midnight; a divisor of 1,440.</summary>
    [Between(5, 120)]
    public int GridMinutes { get; init; } = 15;

    /// <summary>The lengths of lesson on offer, in minutes.</summary>
    [Items(1, 24), Between(15, 480)]
    public IReadOnlyList<int> LessonMinutes { get; init; } = [60, 90, 120];

    /// <summary>Minutes kept free beside every drive, for parking and a word at the door.</summary>
    /// <remarks>Default: common practice, no source.</remarks>
    [Between(0, 60)]
    public int BufferMinutes { get; init; } = 10;

    /// <summary>A pupil books at least this many hours ahead.</summary>
    [Between(0, 720)]
    public int NoticeToBookHours { get; init; } = 24;

    /// <summary>A pupil moves or cancels free of charge at least this many hours ahead. Never forbids a slot.</summary>
    [Between(0, 720)]
    public int NoticeToMoveHours { get; init; } = 48;

    /// <summary>A pupil books at most this many days after today.</summary>
    [Between(1, 730)]
    public int HorizonDays { get; init; } = 84;

    /// <summary>After this many minutes' continuous work a rest is due before the next lesson.</summary>
    /// <remarks>Default from The Highway Code, rule 91: a break of at least 15 minutes after every two hours' driving.</remarks>
    [Between(30, 600)]
    public int RestAfterMinutes { get; init; } = 120;

    /// <summary>How long a rest lasts at least; 0 means that no rests are asked for.</summary>
    [Between(0, 120)]
    public int RestMinutes { get; init; } = 15;

    /// <summary>Most lesson minutes of one instructor on one date.</summary>
    /// <remarks>Default: common practice, no source.</remarks>
    [Between(15, 1440)]
    public int DailyTeachingMinutes { get; init; } = 420;

    /// <summary>The same for a trainee, if lower; null for no limit of their own.</summary>
    [Between(15, 1440)]
    public int? TraineeDailyTeachingMinutes { get; init; }

    /// <summary>Whether the drive from the instructor's base to the first place must lie inside working hours.</summary>
    public bool FirstLegIsWork { get; init; }

    /// <summary>Whether the drive from the last place back to the base must lie inside working hours.</summary>
    public bool LastLegIsWork { get; init; }

    /// <summary>Whether an instructor who names the areas they serve is booked in no other. Else they only come first there.</summary>
    public bool OnlyInServedAreas { get; init; }

    /// <summary>Youngest age for a lesson on the road. Great Britain: 17 (https://www.gov.uk/driving-lessons-learning-to-drive).</summary>
    [Between(14, 30)]
    public int MinimumAge { get; init; } = 17;

    /// <summary>Youngest age with the enhanced mobility component of PIP. Great Britain: 16.</summary>
    [Between(14, 30)]
    public int MinimumAgeWithMobilityAward { get; init; } = 16;

    /// <summary>Whether a pupil is told by itself that the lesson starts late.</summary>
    public LateTelling TellsLate { get; init; }

    /// <summary>The link that opens a map at a place, with <c>{latitude}</c> and <c>{longitude}</c> in it; empty for the <c>geo:</c> address of RFC 5870,
    /// which a phone opens with the map that its owner likes.</summary>
    [AtMost(MapLinks.Longest)]
    public string MapLink { get; init; } = "";

    /// <summary>What the school says about kinds of lesson; a kind that is missing is as <see cref="KindRule.Shipped"/> has it.</summary>
    public IReadOnlyList<KindRule> Kinds { get; init; } = [];

    /// <summary>What holds for a kind of lesson.</summary>
    public KindRule KindOf(LessonKind kind)
    {
        // A loop without an enumerator: a search asks this and allocates nothing.
        for (var i = 0; i < Kinds.Count; i++)
        {
            if (Kinds[i].Kind == kind)
            {
                return Kinds[i];
            }
        }

        return KindRule.Shipped[(int)kind];
    }

    /// <summary>The lengths on offer of a kind, in minutes.</summary>
    public IReadOnlyList<int> LengthsOf(LessonKind kind) => KindOf(kind).Minutes is { Count: > 0 } own ? own : LessonMinutes;

    /// <summary>Minutes that the shortest lesson takes of any kind that is given, its breaks with it.</summary>
    public int ShortestElapsed() => Enum.GetValues<LessonKind>().Where(kind => KindOf(kind).Offered).SelectMany(LengthsOf).Min(minutes => LessonPlan.Of(minutes, this).Elapsed);

    /// <summary>What is wrong, by name of the property; empty when all is well.</summary>
    public IReadOnlyDictionary<string, string> Validate()
    {
        var errors = new Dictionary<string, string>();
        Within(nameof(GridMinutes), GridMinutes, "The grid", "minutes");
        if (!errors.ContainsKey(nameof(GridMinutes)) && 1440 % GridMinutes != 0)
        {
            errors[nameof(GridMinutes)] = "The grid must divide the day evenly, for example 5, 10, 15, 30 or 60 minutes.";
        }

        var (lengths, length) = (ItemsAttribute.Of(typeof(DiaryRules), nameof(LessonMinutes)), BetweenAttribute.Of(typeof(DiaryRules), nameof(LessonMinutes)));
        if (LessonMinutes.Count < lengths.Fewest)
        {
            errors[nameof(LessonMinutes)] = "Offer at least one length of lesson.";
        }
        else if (LessonMinutes.Count > lengths.Most)
        {
            errors[nameof(LessonMinutes)] = $"Offer at most {lengths.Most} lengths of lesson.";
        }
        else if (LessonMinutes.Any(minutes => !length.Holds(minutes)))
        {
            errors[nameof(LessonMinutes)] = $"Every length of lesson must be from {length.Least} to {length.Most} minutes.";
        }
        else if (LessonMinutes.Distinct().Count() != LessonMinutes.Count)
        {
            errors[nameof(LessonMinutes)] = "Every length of lesson may be given only once.";
        }

        Within(nameof(BufferMinutes), BufferMinutes, "The buffer", "minutes");
        Within(nameof(NoticeToBookHours), NoticeToBookHours, "Notice to book", "hours");
        Within(nameof(NoticeToMoveHours), NoticeToMoveHours, "Notice to move", "hours");
        Within(nameof(HorizonDays), HorizonDays, "The booking horizon", "days");
        Within(nameof(RestAfterMinutes), RestAfterMinutes, "Work before a rest", "minutes");
        Within(nameof(RestMinutes), RestMinutes, "A rest", "minutes");
        Within(nameof(DailyTeachingMinutes), DailyTeachingMinutes, "The daily limit", "minutes");
        if (TraineeDailyTeachingMinutes is { } trainee)
        {
            Within(nameof(TraineeDailyTeachingMinutes), trainee, "The daily limit of a trainee", "minutes");
        }

        if (MapLinks.Fault(MapLink) is { } fault)
        {
            errors[nameof(MapLink)] = fault;
        }

        Within(nameof(MinimumAge), MinimumAge, "The minimum age", "years");
        Within(nameof(MinimumAgeWithMobilityAward), MinimumAgeWithMobilityAward, "The minimum age with the mobility award", "years");
        return errors;

        void Within(string field, int value, string subject, string unit)
        {
            var bounds = BetweenAttribute.Of(typeof(DiaryRules), field);
            if (!bounds.Holds(value))
            {
                errors[field] = $"{subject} must be from {bounds.Least} to {bounds.Most} {unit}.";
            }
        }
    }
}
