namespace School.Web.Platform.Access;

internal enum Role
{
    Pupil,
    Instructor,
    Office,
}

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
    SeeCars,
    ManageCars,
    ManageSchool,
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
}

/// <summary>The one table of permissions; pages and API both ask it.</summary>
internal static class Permissions
{
    private static readonly Permission[] Pupil =
    [
        Permission.OwnSignIn, Permission.OwnDetails, Permission.SeeLessons, Permission.BookLessons, Permission.OwnFeeds, Permission.SeeLearning,
        Permission.LogPractice,
    ];

    private static readonly Permission[] Instructor =
    [
        .. Pupil, Permission.RecordLessons, Permission.DriveTheDay, Permission.ChangeHours, Permission.SeeInstructors,
        Permission.SeePupils, Permission.SeeCars, Permission.SeeSyllabus, Permission.PlanCourses,
    ];

    private static readonly Dictionary<Role, HashSet<Permission>> ByRole = new()
    {
        [Role.Pupil] = [.. Pupil],
        [Role.Instructor] = [.. Instructor],
        [Role.Office] = [.. Enum.GetValues<Permission>()],
    };

    public static bool Allows(Role role, Permission permission) => ByRole[role].Contains(permission);
}
