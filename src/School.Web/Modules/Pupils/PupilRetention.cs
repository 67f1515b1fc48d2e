using School.Web.Modules.Records.Contracts;

namespace School.Web.Modules.Pupils;

/// <summary>How long it is kept who opened whom by a reason.</summary>
internal static class PupilRetention
{
    public static readonly RetentionRule Accesses = new(
        "pupil_accesses", "Pupils opened by reason", "Who opened whom and why, from when they did. The audit says so too.",
        "A pupil may ask for a while who looked at what the school keeps of them.")
    {
        Days = 730,
        Least = 365,
        Most = 2_192,
        Table = "pupils.accesses",
        Key = "id",
        Since = "r.at",
    };
}
