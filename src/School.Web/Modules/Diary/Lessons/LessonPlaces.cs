using Microsoft.AspNetCore.Mvc.ModelBinding;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Places.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Lessons;

internal enum PlaceChoice
{
    /// <summary>Where the pupil is usually picked up.</summary>
    Usual,

    /// <summary>Where this lesson begins.</summary>
    PickUp,

    /// <summary>A place of its own.</summary>
    Other,
}

/// <summary>Where a lesson begins and ends as forms and addresses carry it: at the pupil's usual place unless another is named.</summary>
internal sealed class LessonPlaces
{
    public const string Prefix = "Places";

    /// <summary>A <see cref="PlaceChoice"/>, or the id of a known place.</summary>
    public string? PickUpAt { get; set; } = nameof(PlaceChoice.Usual);

    public PlaceInput? PickUp { get; set; }

    /// <summary>The same.</summary>
    public string? DropOffAt { get; set; } = nameof(PlaceChoice.PickUp);

    public PlaceInput? DropOff { get; set; }

    /// <summary>From a known place on to the pupil's usual one.</summary>
    public static LessonPlaces From(Guid known) => new() { PickUpAt = known.ToString(), DropOffAt = nameof(PlaceChoice.Usual) };

    /// <summary>From one place on to another, by what they are known as.</summary>
    public static LessonPlaces Between(Place pickUp, Place dropOff, Place usual, IReadOnlyList<KnownPlace> known)
    {
        var (start, end) = (Named(pickUp), dropOff == pickUp ? nameof(PlaceChoice.PickUp) : Named(dropOff));
        return new()
        {
            PickUpAt = start,
            PickUp = start == nameof(PlaceChoice.Other) ? PlaceInput.Of(pickUp) : null,
            DropOffAt = end,
            DropOff = end == nameof(PlaceChoice.Other) ? PlaceInput.Of(dropOff) : null,
        };

        string Named(Place place) => place == usual ? nameof(PlaceChoice.Usual) : known.FirstOrDefault(one => one.At == place)?.Id.ToString() ?? nameof(PlaceChoice.Other);
    }

    /// <summary>As booking was asked for them.</summary>
    public static LessonPlaces Of(PlaceInput? pickUp, PlaceInput? dropOff) => new()
    {
        PickUpAt = ChoiceOf(pickUp, PlaceChoice.Usual),
        PickUp = Typed(pickUp),
        DropOffAt = ChoiceOf(dropOff, PlaceChoice.PickUp),
        DropOff = Typed(dropOff),
    };

    public bool IsFrom(Guid known) => Guid.TryParse(PickUpAt, out var id) && id == known && DropOffAt == nameof(PlaceChoice.Usual);

    /// <summary>The choice once more, for hidden fields; empty where everything is as usual.</summary>
    public IEnumerable<KeyValuePair<string, string>> Fields => !IsElsewhere(PickUpAt) && !IsElsewhere(DropOffAt)
        ? []
        : [Field(nameof(PickUpAt), PickUpAt), Field(nameof(DropOffAt), DropOffAt),
            .. Of(nameof(PickUp), PickUpAt, PickUp), .. Of(nameof(DropOff), DropOffAt, DropOff)];

    /// <summary>The same at the end of an address.</summary>
    public string Query => string.Concat(Fields.Select(pair => $"&{pair.Key}={Uri.EscapeDataString(pair.Value)}"));

    /// <summary>Whether something about the places was refused on this page.</summary>
    public static bool AreWrong(ModelStateDictionary state) =>
        state.Any(entry => entry.Key.StartsWith(Prefix, StringComparison.Ordinal) && entry.Value is { Errors.Count: > 0 });

    /// <summary>What booking is asked for: null leaves a place to what is usual.</summary>
    public (PlaceInput? PickUp, PlaceInput? DropOff) For(Place usual) =>
        (Asked(PickUpAt, PickUp), DropOffAt == nameof(PlaceChoice.Usual) && IsElsewhere(PickUpAt) ? PlaceInput.Of(usual) : Asked(DropOffAt, DropOff));

    /// <summary>The question with these places; what is wrong with them goes to the errors.</summary>
    public async Task<SlotQuestion> IntoAsync(SlotQuestion question, Place usual, PlaceFinder places, Viewer viewer, FieldErrors errors, CancellationToken cancel)
    {
        errors.When(!IsChoice(PickUpAt), $"{Prefix}.{nameof(PickUpAt)}", NoChoice);
        errors.When(!IsChoice(DropOffAt), $"{Prefix}.{nameof(DropOffAt)}", NoChoice);
        var (pickUp, dropOff) = For(usual);
        return question with
        {
            PickUp = await ReadAsync(nameof(PickUp), pickUp),
            DropOff = await ReadAsync(nameof(DropOff), dropOff),
        };

        async Task<Place?> ReadAsync(string name, PlaceInput? asked) =>
            asked is null ? null : errors.ReadPlace($"{Prefix}.{name}", await places.LookAsync(asked, question.PupilId, viewer, cancel));
    }

    private static string ChoiceOf(PlaceInput? asked, PlaceChoice none) => asked is null ? $"{none}" : asked.PlaceId is { } known ? $"{known}" : $"{PlaceChoice.Other}";

    // A form has one field for a position.
    private static PlaceInput? Typed(PlaceInput? asked) => asked is { PlaceId: null, Latitude: { } latitude, Longitude: { } longitude }
        ? asked with { Latitude = null, Longitude = null, Position = FormattableString.Invariant($"{latitude}, {longitude}") }
        : asked;

    private static PlaceInput? Asked(string? choice, PlaceInput? typed) =>
        choice == nameof(PlaceChoice.Other) ? typed ?? new() : Guid.TryParse(choice, out var known) ? new(PlaceId: known) : null;

    private const string NoChoice = "Choose one of the places.";

    private static bool IsChoice(string? choice) => choice is null or nameof(PlaceChoice.Usual) or nameof(PlaceChoice.PickUp) || IsElsewhere(choice);

    private static bool IsElsewhere(string? choice) => choice == nameof(PlaceChoice.Other) || Guid.TryParse(choice, out _);

    private static IEnumerable<KeyValuePair<string, string>> Of(string name, string? choice, PlaceInput? place) => choice != nameof(PlaceChoice.Other)
        ? []
        : [Field($"{name}.Label", place?.Label), Field($"{name}.Address", place?.Address), Field($"{name}.Postcode", place?.Postcode), Field($"{name}.Position", place?.Position), Field($"{name}.ToBeFound", place?.ToBeFound == true ? "true" : "false")];

    private static KeyValuePair<string, string> Field(string name, string? value) => new($"{Prefix}.{name}", value ?? "");
}
