using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Pupils;
using School.Web.Platform.Api.Document;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Pupils;

/// <summary>A driving licence as it is told, and as it is sent back.</summary>
internal sealed record LicenceView(
    LicenceKind Kind, LocalDate? ValidFrom, LocalDate? ValidUntil, LocalDate? ResidentSince, LocalDate? DisqualifiedUntil, bool IssuedInEea, IReadOnlyList<string> Conditions,
    ProvisionalView? Provisional)
{
    public static LicenceView? Of(Licence? licence) => licence is null ? null : new(
        licence.Kind, licence.ValidFrom, licence.ValidUntil, licence.ResidentSince, licence.DisqualifiedUntil, licence.FromEea, licence.Conditions ?? [],
        licence.Beside is { } beside ? new(beside.ValidFrom, beside.ValidUntil) : null);
}

/// <summary>A British provisional licence beside a foreign one, as it is told.</summary>
internal sealed record ProvisionalView(LocalDate ValidFrom, LocalDate? ValidUntil);

/// <summary>The same as a form or the API sends it.</summary>
internal sealed record ProvisionalInput
{
    public LocalDate? ValidFrom { get; init; }

    public LocalDate? ValidUntil { get; init; }

    [JsonIgnore]
    public bool IsEmpty => this is { ValidFrom: null, ValidUntil: null };
}

/// <summary>A driving licence as a form or the API sends it: 4a, 4b and the codes of field 12, and what its kind asks besides.</summary>
internal sealed record LicenceInput
{
    private const int YearsAhead = 3;
    private const int LongestYears = 60;

    /// <summary>From this age on one may ask for a provisional licence: 15 years and 9 months (gov.uk/driving-lessons-learning-to-drive).</summary>
    private static readonly Period AgeForProvisional = Period.FromMonths((15 * 12) + 9);

    [Needed]
    public LicenceKind? Kind { get; init; }

    public LocalDate? ValidFrom { get; init; }

    public LocalDate? ValidUntil { get; init; }

    public LocalDate? ResidentSince { get; init; }

    public LocalDate? DisqualifiedUntil { get; init; }

    public bool IssuedInEea { get; init; }

    /// <summary>Of a foreign licence: the British provisional one held as well.</summary>
    public ProvisionalInput? Provisional { get; init; }

    [Items(0, LicenceCodes.Most), AtMost(LicenceCodes.Longest)]
    public IReadOnlyList<string>? Conditions { get; init; }

    /// <summary>The codes as a form has them, in one line.</summary>
    [JsonIgnore]
    public string? Codes { get; init; }

    public static LicenceInput Of(Licence? licence) => new()
    {
        Kind = licence?.Kind,
        ValidFrom = licence?.ValidFrom,
        ValidUntil = licence?.ValidUntil,
        ResidentSince = licence?.ResidentSince,
        DisqualifiedUntil = licence?.DisqualifiedUntil,
        IssuedInEea = licence?.FromEea ?? false,
        Provisional = licence?.Beside is { } beside ? new() { ValidFrom = beside.ValidFrom, ValidUntil = beside.ValidUntil } : null,
        Conditions = licence?.Conditions,
        Codes = string.Join(' ', licence?.Conditions ?? []),
    };

    /// <summary>Whether nothing was filled in: no licence was seen.</summary>
    [JsonIgnore]
    public bool IsEmpty => this is
    { Kind: null, ValidFrom: null, ValidUntil: null, ResidentSince: null, DisqualifiedUntil: null, IssuedInEea: false, Conditions: null or { Count: 0 }, Provisional: null or { IsEmpty: true } } && string.IsNullOrWhiteSpace(Codes);

    /// <summary>The licence, or null where none was seen or something about it is not right.</summary>
    /// <param name="errors">Takes what is wrong.</param>
    /// <param name="field">Name of the field that holds it, such as "Licence".</param>
    /// <param name="birthDate">The holder's date of birth; null where it is not known.</param>
    /// <param name="today">Today.</param>
    public Licence? Read(FieldErrors errors, string field, LocalDate? birthDate, LocalDate today)
    {
        if (IsEmpty)
        {
            return null;
        }

        if (Kind is not { } kind || !Enum.IsDefined(kind))
        {
            errors.Add($"{field}.{nameof(Kind)}", "Say what kind of licence it is.");
            return null;
        }

        var own = new FieldErrors();
        own.When(ValidFrom is null && kind != LicenceKind.Disqualified, At(nameof(ValidFrom)), "Enter the first day of the licence (4a).");
        CheckFrom(own, At(nameof(ValidFrom)), kind, ValidFrom, birthDate, today);
        own.When(ValidUntil < ValidFrom, At(nameof(ValidUntil)), "The last day must not be before the first.")
            .When(ValidUntil > today.PlusYears(LongestYears), At(nameof(ValidUntil)), $"This is more than {LongestYears} years ahead. Check the year.")
            .When(kind == LicenceKind.Foreign && ResidentSince is null, At(nameof(ResidentSince)), "Enter the day since which the pupil lives here: how long a foreign licence counts depends on it.")
            .When(kind != LicenceKind.Foreign && ResidentSince is not null, At(nameof(ResidentSince)), "Only a foreign licence has this day. Leave it out.")
            .When(kind != LicenceKind.Foreign && IssuedInEea, At(nameof(IssuedInEea)), "Only a foreign licence comes from the EU or the EEA. Leave it out.")
            .When(ResidentSince > today, At(nameof(ResidentSince)), "This day is still to come. Check it.")
            .When(ResidentSince < birthDate, At(nameof(ResidentSince)), "This day lies before the date of birth. Check both.")
            .When(kind == LicenceKind.Disqualified && DisqualifiedUntil is null, At(nameof(DisqualifiedUntil)), "Enter the last day of the disqualification.")
            .When(kind != LicenceKind.Disqualified && DisqualifiedUntil is not null, At(nameof(DisqualifiedUntil)), "Only a disqualification has this day. Leave it out.")
            .When(DisqualifiedUntil > today.PlusYears(LongestYears), At(nameof(DisqualifiedUntil)), $"This is more than {LongestYears} years ahead. Check the year.");
        var codes = ReadCodes(own, At(Codes is null ? nameof(Conditions) : nameof(Codes)));
        var beside = ReadBeside(own, At(nameof(Provisional)), kind, birthDate, today);
        var licence = new Licence(kind, ValidFrom, ValidUntil, ResidentSince, DisqualifiedUntil, IssuedInEea, codes) { Beside = beside };
        own.When(kind == LicenceKind.FullManual && licence.SaysAutomaticOnly, At(nameof(Kind)), "Codes 78 and 106 say automatics only. Choose the full licence for automatics, or take the code out.");
        errors.AddAll(own);
        return own.Any ? null : licence;

        string At(string member) => $"{field}.{member}";
    }

    private ProvisionalBeside? ReadBeside(FieldErrors errors, string field, LicenceKind kind, LocalDate? birthDate, LocalDate today)
    {
        if (Provisional is null or { IsEmpty: true })
        {
            return null;
        }

        var (from, until) = ($"{field}.{nameof(Provisional.ValidFrom)}", $"{field}.{nameof(Provisional.ValidUntil)}");
        errors.When(kind != LicenceKind.Foreign, from, "Only beside a foreign licence a provisional one is entered as well. Leave it out.")
            .When(Provisional.ValidFrom is null, from, "Enter the first day of the provisional licence (4a).")
            .When(Provisional.ValidUntil < Provisional.ValidFrom, until, "The last day must not be before the first.")
            .When(Provisional.ValidUntil > today.PlusYears(LongestYears), until, $"This is more than {LongestYears} years ahead. Check the year.");
        CheckFrom(errors, from, LicenceKind.Provisional, Provisional.ValidFrom, birthDate, today);
        return Provisional.ValidFrom is { } first ? new(first, Provisional.ValidUntil) : null;
    }

    /// <summary>Whether the first day can be one.</summary>
    public static void CheckFrom(FieldErrors errors, string field, LicenceKind kind, LocalDate? from, LocalDate? birthDate, LocalDate today) => errors
        .When(
            kind != LicenceKind.Foreign && birthDate is { } born && from < born + AgeForProvisional, field,
            "Nobody has a provisional licence before the age of 15 years and 9 months. Check both dates.")
        .When(kind == LicenceKind.Foreign && from < birthDate, field, "This day lies before the date of birth. Check both.")
        .When(from > today.PlusYears(YearsAhead), field, "This is more than three years ahead. Check the year.");

    private List<string> ReadCodes(FieldErrors errors, string field)
    {
        var typed = Codes?.Split([' ', ',', ';'], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries) ?? Conditions ?? [];
        var read = typed.Select(code => (Typed: code, Code: LicenceCodes.TryParse(code, out var good) ? good : null)).ToList();
        errors.When(read.Exists(code => code.Code is null), field, "A code is two or three digits as in field 12 of the licence, such as 01 or 78.");
        errors.When(read.Count > LicenceCodes.Most, field, $"At most {LicenceCodes.Most} codes.");
        return [.. read.Select(code => code.Code).OfType<string>().Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
    }
}
