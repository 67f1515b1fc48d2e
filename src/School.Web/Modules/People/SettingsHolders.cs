using Microsoft.EntityFrameworkCore;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.People;

/// <summary>Somebody can always change the settings, and give that part of the office to others.</summary>
internal static class SettingsHolders
{
    /// <summary>Held while anybody could lose the part, so that two who leave at once do not each take the other for the one who stays.</summary>
    public const string Lock = "office-sign-ins";

    public static Refusal Last { get; } = Refusal.Rule(
        "last_settings_holder", "Nobody could change the settings then, nor give that part back. Give it to somebody else who signs in first.");

    /// <summary>Whether somebody else who can sign in holds the part.</summary>
    public static Task<bool> OtherSettingsHolderAsync(this SchoolDb db, Guid but, CancellationToken cancel) => db.Set<Person>().AnyAsync(
        p => p.Id != but && p.Parts != OfficeParts.None && (p.Parts & OfficeParts.Settings) != OfficeParts.None && !p.Closed && p.PasswordHash != null, cancel);
}
