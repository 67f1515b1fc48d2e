namespace School.Web.Platform.Access;

/// <summary>What somebody may do. Whose rows they may do it to is decided in each query, through <see cref="Viewer"/>.</summary>
internal enum Permission
{
    /// <summary>Own sign-in: password, second step, tokens, sign out everywhere.</summary>
    OwnSignIn,

    /// <summary>Read one's own details as a pupil and keep the contact details right.</summary>
    OwnDetails,

    /// <summary>See free times and lessons: one's own, an instructor's own diary, or the whole school's.</summary>
    SeeLessons,
    BookLessons,
    RecordLessons,
    DriveTheDay,
    SeeWholeDiary,
    ChangeHours,
    SeeInstructors,
    ManageInstructors,
    SeePupils,
    ManagePupils,

    /// <summary>Keep what a pupil is taught by: papers, eyesight, car and aims; and see how far they have come.</summary>
    TeachPupils,

    /// <summary>Read health notes and driver numbers: one's own, or as staff a pupil's.</summary>
    SeeGuarded,
    ChangeGuarded,
    SeeCars,
    ManageCars,
    ManageSchool,

    /// <summary>Say who of the office may do what, and who wears which hats.</summary>
    GiveHats,
    SeeMessages,
    OwnFeeds,
    RunJobs,

    /// <summary>See how far a pupil has come: one's own learning, or as staff every pupil's.</summary>
    SeeLearning,

    /// <summary>Log drives between lessons: one's own, or as staff for a pupil.</summary>
    LogPractice,

    /// <summary>Read the syllabus as an instructor prepares from it.</summary>
    SeeSyllabus,
    ChangeSyllabus,

    /// <summary>Find who takes over when an instructor is ill or a car is off the road.</summary>
    ArrangeCover,

    /// <summary>Plan an intensive course: as an instructor with oneself, as the office with anybody.</summary>
    PlanCourses,

    /// <summary>Read when and where lessons are: wherever one sees lessons, and those of a pupil beside whom one stands, where the pupil allows it.</summary>
    ReadLessons,

    /// <summary>Read how far a pupil has come: wherever one sees learning, and that of a pupil beside whom one stands, where the pupil allows it.</summary>
    ReadProgress,

    /// <summary>The pages about the pupils beside whom one stands.</summary>
    SeeBeside,

    /// <summary>Read what is owed and paid: one's own, as staff a pupil's, and that of a pupil beside whom one stands, where the pupil allows it.</summary>
    ReadAccount,

    /// <summary>Accept the terms: as the pupil, or as staff note that a pupil did.</summary>
    AcceptTerms,

    /// <summary>Take payments and sell hours.</summary>
    TakeMoney,

    /// <summary>Keep the books: prices, fees, terms, refunds, debts.</summary>
    KeepBooks,
}

/// <summary>The one table of permissions; pages, API, navigation and queries all ask it. Several hats allow what any of them allows.</summary>
internal static class Permissions
{
    private static readonly Permission[] Pupil =
    [
        Permission.OwnSignIn, Permission.OwnDetails, Permission.SeeLessons, Permission.BookLessons, Permission.OwnFeeds, Permission.SeeLearning,
        Permission.LogPractice, Permission.SeeGuarded, Permission.ReadLessons, Permission.ReadProgress, Permission.ReadAccount, Permission.AcceptTerms,
    ];

    private static readonly Permission[] Instructor =
    [
        .. Pupil, Permission.RecordLessons, Permission.DriveTheDay, Permission.ChangeHours, Permission.SeeInstructors,
        Permission.SeePupils, Permission.TeachPupils, Permission.ChangeGuarded, Permission.SeeCars, Permission.SeeSyllabus, Permission.PlanCourses, Permission.TakeMoney,
    ];

    private static readonly Dictionary<Hat, ulong> ByHat = new()
    {
        [Hat.Pupil] = Set(Pupil),
        [Hat.BesidePupil] = Set(Permission.OwnSignIn, Permission.SeeBeside, Permission.ReadLessons, Permission.ReadProgress, Permission.ReadAccount),
        [Hat.Instructor] = Set(Instructor),
        // What the office may beyond that, its parts say.
        [Hat.Office] = Set(Permission.OwnSignIn),
    };

    private static readonly Dictionary<OfficePart, ulong> ByPart = new()
    {
        [OfficePart.Diary] = Set(
            Permission.SeeLessons, Permission.BookLessons, Permission.RecordLessons, Permission.DriveTheDay, Permission.SeeWholeDiary, Permission.ChangeHours,
            Permission.SeeInstructors, Permission.OwnDetails, Permission.SeePupils, Permission.TeachPupils, Permission.SeeCars, Permission.ManageCars, Permission.SeeMessages,
            Permission.OwnFeeds, Permission.SeeLearning, Permission.LogPractice, Permission.SeeSyllabus, Permission.ArrangeCover, Permission.PlanCourses,
            Permission.ReadLessons, Permission.ReadProgress),
        [OfficePart.People] = Set(
            Permission.SeeInstructors, Permission.ManageInstructors, Permission.OwnDetails, Permission.SeePupils, Permission.ManagePupils, Permission.TeachPupils,
            Permission.SeeMessages, Permission.SeeLearning, Permission.LogPractice, Permission.SeeSyllabus, Permission.ReadProgress),
        [OfficePart.Money] = Set(Permission.ReadAccount, Permission.AcceptTerms, Permission.TakeMoney, Permission.KeepBooks),
        [OfficePart.Settings] = Set(
            Permission.ManageSchool, Permission.GiveHats, Permission.SeeSyllabus, Permission.ChangeSyllabus, Permission.RunJobs, Permission.SeeInstructors),
        // Of the pupils that another part shows: by itself it shows none.
        [OfficePart.Confidential] = Set(Permission.SeeGuarded, Permission.ChangeGuarded),
    };

    public static bool Allows(Hat hat, Permission permission) => Has(ByHat[hat], permission);

    public static bool Allows(OfficeParts parts, Permission permission) => ByPart.Any(part => parts.Holds(part.Key) && Has(part.Value, permission));

    /// <summary>Whose hats allow all of these, in words: “pupil”, “instructor”, “office (diary, people)”.</summary>
    public static IReadOnlyList<string> Who(IReadOnlyCollection<Permission> permissions)
    {
        var hats = Enum.GetValues<Hat>().Where(hat => permissions.All(permission => Allows(hat, permission))).Select(hat => hat switch
        {
            Hat.Pupil => "pupil",
            Hat.BesidePupil => "beside a pupil",
            Hat.Instructor => "instructor",
            Hat.Office => "office",
        }).ToList();
        var parts = Enum.GetValues<OfficePart>().Where(part => permissions.All(permission => Has(ByPart[part], permission))).ToList();
        return hats.Contains("office") || parts.Count == 0 ? hats : [.. hats, $"office ({string.Join(", ", parts.Select(part => part.ToString().ToLowerInvariant()))})"];
    }

    private static ulong Set(params ReadOnlySpan<Permission> permissions)
    {
        ulong set = 0;
        foreach (var permission in permissions)
        {
            set |= 1UL << (int)permission;
        }

        return set;
    }

    private static bool Has(ulong set, Permission permission) => (set & (1UL << (int)permission)) != 0;
}
