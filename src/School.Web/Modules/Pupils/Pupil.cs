using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Core.Cars;
using School.Core.Pupils;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;

namespace School.Web.Modules.Pupils;

internal sealed class Pupil : Versioned
{
    public const int LongestName = 100;
    public const int LongestNeed = 120;
    public const int LongestNotes = 4000;
    public const int UsualLessonMinutes = 60;

    public required string Name { get; set; }

    /// <summary>Empty where the pupil is reached by phone alone.</summary>
    public required string Email { get; set; }

    /// <summary>E.164; empty where the pupil is reached by e-mail alone.</summary>
    public required string Phone { get; set; }

    /// <summary>Null while it is still to be asked; nobody drives before.</summary>
    public required LocalDate? BirthDate { get; set; }

    /// <summary>Receives, or has applied for, the enhanced rate of the mobility part: may learn from 16.</summary>
    public bool MobilityAward { get; set; }

    /// <summary>Null while it is still to be asked; no lesson before.</summary>
    public required Gearbox? Gearbox { get; set; }

    public LicenceKind LicenceKind { get; set; }

    /// <summary>Null while no licence was seen; a disqualification may do without.</summary>
    public LocalDate? LicenceFrom { get; set; }

    /// <summary>The last day on the card.</summary>
    public LocalDate? LicenceUntil { get; set; }

    /// <summary>With a foreign licence: the first day of a British provisional licence held as well; null where there is none.</summary>
    public LocalDate? ProvisionalBesideFrom { get; set; }

    public LocalDate? ProvisionalBesideUntil { get; set; }

    /// <summary>With a foreign licence: since when its holder lives here.</summary>
    public LocalDate? ResidentSince { get; set; }

    /// <summary>A foreign licence given by a state of the EU or the EEA.</summary>
    public bool LicenceFromEea { get; set; }

    public LocalDate? DisqualifiedUntil { get; set; }

    public List<string> LicenceConditions { get; set; } = [];

    /// <summary>When the licence as it stands here was entered, and by whom.</summary>
    public LocalDate? LicenceSeenOn { get; set; }

    public Guid? LicenceSeenBy { get; set; }

    /// <summary>Encrypted; opened only through the audited read.</summary>
    public string? DriverNumberSealed { get; set; }

    /// <summary>When the last check was passed; null after one that was failed.</summary>
    public LocalDate? EyesightCheckedOn { get; set; }

    /// <summary>When a check was failed since which none was passed.</summary>
    public LocalDate? EyesightFailedOn { get; set; }

    /// <summary>Who did the last check, passed or failed.</summary>
    public Guid? EyesightCheckedBy { get; set; }

    /// <summary>When the theory test was passed; null while no certificate was seen.</summary>
    public LocalDate? TheoryPassedOn { get; set; }

    public LocalDate? TheorySeenOn { get; set; }

    public Guid? TheorySeenBy { get; set; }

    /// <summary>The number of the theory certificate; encrypted, opened only through the audited read.</summary>
    public string? TheoryCertificateSealed { get; set; }

    /// <summary>When the school last looked at the driving record.</summary>
    public LocalDate? LicenceCheckedOn { get; set; }

    public Guid? LicenceCheckedBy { get; set; }

    public required Place PickUp { get; set; }

    public Guid? UsualInstructorId { get; set; }

    /// <summary>Most lesson minutes in a Monday-to-Sunday week; no limit when null.</summary>
    public int? WeeklyMinutes { get; set; }

    public required int LessonMinutes { get; set; }

    public bool NeedsDualControls { get; set; } = true;

    /// <summary>The contacts beside them who get copies of their letters; each stands in <see cref="BesidePupil"/> and sees the lessons.</summary>
    public List<Guid> LettersTo { get; set; } = [];

    public string EmergencyName { get; set; } = "";

    public string EmergencyPhone { get; set; } = "";

    /// <summary>One line for the instructor's strip: what this pupil needs next.</summary>
    public string Need { get; set; } = "";

    public string Notes { get; set; } = "";

    /// <summary>Encrypted; opened only through the audited read.</summary>
    public string? HealthNotesSealed { get; set; }

    public LocalDate? RetiredOn { get; set; }

    /// <summary>The licence as it was seen; null where none was.</summary>
    public Licence? SeenLicence() => LicenceFrom is null && LicenceKind != LicenceKind.Disqualified ? null
        : new(LicenceKind, LicenceFrom, LicenceUntil, ResidentSince, DisqualifiedUntil, LicenceFromEea, LicenceConditions)
        {
            Beside = ProvisionalBesideFrom is { } beside ? new(beside, ProvisionalBesideUntil) : null,
        };

    /// <summary>Takes over another licence, or that none was seen, and who saw it when.</summary>
    public void Take(Licence? licence, LocalDate today, Guid? by)
    {
        if (licence == SeenLicence())
        {
            return;
        }

        (LicenceKind, LicenceFrom, LicenceUntil) = (licence?.Kind ?? default, licence?.ValidFrom, licence?.ValidUntil);
        (ResidentSince, LicenceFromEea, DisqualifiedUntil) = (licence?.ResidentSince, licence?.FromEea ?? false, licence?.DisqualifiedUntil);
        (ProvisionalBesideFrom, ProvisionalBesideUntil) = (licence?.Beside?.ValidFrom, licence?.Beside?.ValidUntil);
        LicenceConditions = [.. licence?.Conditions ?? []];
        (LicenceSeenOn, LicenceSeenBy) = licence is null ? ((LocalDate?)null, (Guid?)null) : (today, by);
    }

    /// <summary>What the diary must know before a first lesson and does not.</summary>
    public FirstLessonNeeds Missing() => FirstLessonNeedsWords.Of(BirthDate, Gearbox, PickUp.IsKnown, SeenLicence() is not null);

    /// <summary>What is seen and asked before the wheels turn.</summary>
    public FirstLessonNeeds BeforeDriving() => FirstLessonNeedsWords.BeforeDriving(BirthDate, SeenLicence() is not null);

    /// <summary>A row still to be filled by <see cref="PupilInput.Into"/>.</summary>
    public static Pupil Blank() => new()
    {
        Name = "",
        Email = "",
        Phone = "",
        BirthDate = null,
        Gearbox = null,
        PickUp = Place.Unknown,
        LessonMinutes = UsualLessonMinutes,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<Pupil>
    {
        public void Configure(EntityTypeBuilder<Pupil> entity)
        {
            entity.ToTable("pupils", "pupils");
            entity.ComplexProperty(p => p.PickUp);
            entity.PrimitiveCollection(p => p.LettersTo).HasDefaultValueSql("'{}'");
            // Those who learn now, and the last who left, of however many there ever were.
            entity.HasIndex(p => new { p.UsualInstructorId, p.RetiredOn });
            entity.HasIndex(p => p.Name);
            // The lists of those who learn now, by name and page by page: ten years on they are one in seventy.
            entity.HasIndex(p => p.Name, "pupils_learning_by_name").HasFilter("retired_on IS NULL").HasDatabaseName("pupils_learning_by_name");
            entity.HasIndex(p => p.Id, "pupils_learning").HasFilter("retired_on IS NULL").HasDatabaseName("pupils_learning");
            // A part of a name, an address or a number, wherever it stands.
            entity.HasIndex(p => p.Name, "pupils_name_parts").HasMethod("gin").HasOperators("gin_trgm_ops").HasDatabaseName("pupils_name_parts");
            entity.HasIndex(p => p.Email, "pupils_email_parts").HasMethod("gin").HasOperators("gin_trgm_ops").HasDatabaseName("pupils_email_parts");
            entity.HasIndex(p => p.Phone, "pupils_phone_parts").HasMethod("gin").HasOperators("gin_trgm_ops").HasDatabaseName("pupils_phone_parts");
        }
    }
}

internal static class PupilRows
{
    /// <summary>Whose rows: a pupil only their own, staff every pupil's.</summary>
    public static IQueryable<Pupil> VisibleTo(this IQueryable<Pupil> pupils, Viewer viewer) =>
        viewer.SeesPupils ? pupils : pupils.Where(p => p.Id == viewer.PupilId);

    /// <summary>Those who learn now, or all who ever did. Said apart, so that the index of those who learn is seen to serve.</summary>
    public static IQueryable<Pupil> Learning(this IQueryable<Pupil> pupils, bool alsoRetired) =>
        alsoRetired ? pupils : pupils.Where(p => p.RetiredOn == null);
}
