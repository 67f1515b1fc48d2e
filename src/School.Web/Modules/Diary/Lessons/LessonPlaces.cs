using Microsoft.AspNetCore.Mvc.ModelBinding;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.School.Contracts;
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

    public PlaceChoice PickUpAt { get; set; }

    public PlaceInput? PickUp { get; set; }

    public PlaceChoice DropOffAt { get; set; } = PlaceChoice.PickUp;

    public PlaceInput? DropOff { get; set; }

    /// <summary>The choice once more, for hidden fields; empty where everything is as usual.</summary>
    public IEnumerable<KeyValuePair<string, string>> Fields => PickUpAt != PlaceChoice.Other && DropOffAt != PlaceChoice.Other
        ? []
        : [Field(nameof(PickUpAt), $"{PickUpAt}"), Field(nameof(DropOffAt), $"{DropOffAt}"),
            .. Of(nameof(PickUp), PickUpAt, PickUp), .. Of(nameof(DropOff), DropOffAt, DropOff)];

    /// <summary>The same at the end of an address.</summary>
    public string Query => string.Concat(Fields.Select(pair => $"&{pair.Key}={Uri.EscapeDataString(pair.Value)}"));

    /// <summary>Whether something about the places was refused on this page.</summary>
    public static bool AreWrong(ModelStateDictionary state) =>
        state.Any(entry => entry.Key.StartsWith(Prefix, StringComparison.Ordinal) && entry.Value is { Errors.Count: > 0 });

    /// <summary>What booking is asked for: null leaves a place to what is usual.</summary>
    public (PlaceInput? PickUp, PlaceInput? DropOff) For(Place usual)
    {
        var elsewhere = PickUpAt == PlaceChoice.Other;
        return (elsewhere ? PickUp ?? new() : null, DropOffAt switch
        {
            PlaceChoice.Other => DropOff ?? new(),
            PlaceChoice.Usual when elsewhere => PlaceInput.Of(usual),
            _ => null,
        });
    }

    /// <summary>The question with these places; what is wrong with them goes to the errors.</summary>
    public SlotQuestion Into(SlotQuestion question, Place usual, FieldErrors errors)
    {
        var (pickUp, dropOff) = For(usual);
        return question with
        {
            PickUp = pickUp is null ? null : errors.ReadPlace($"{Prefix}.{nameof(PickUp)}", pickUp),
            DropOff = dropOff is null ? null : errors.ReadPlace($"{Prefix}.{nameof(DropOff)}", dropOff),
        };
    }

    private static IEnumerable<KeyValuePair<string, string>> Of(string name, PlaceChoice choice, PlaceInput? place) => choice != PlaceChoice.Other
        ? []
        : [Field($"{name}.Label", place?.Label), Field($"{name}.Address", place?.Address), Field($"{name}.Postcode", place?.Postcode), Field($"{name}.Position", place?.Position)];

    private static KeyValuePair<string, string> Field(string name, string? value) => new($"{Prefix}.{name}", value ?? "");
}
