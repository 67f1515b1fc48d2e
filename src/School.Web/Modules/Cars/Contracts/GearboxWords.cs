using Microsoft.AspNetCore.Mvc.Rendering;
using School.Core.Cars;

namespace School.Web.Modules.Cars.Contracts;

/// <summary>Gearboxes as they stand on screen.</summary>
internal static class GearboxWords
{
    public static IReadOnlyList<SelectListItem> Choices { get; } =
        [.. Enum.GetValues<Gearbox>().Select(g => new SelectListItem(g.Words(), g.ToString()))];

    public static string Words(this Gearbox gearbox) => gearbox switch
    {
        Gearbox.Manual => "Manual",
        Gearbox.Automatic => "Automatic",
    };
}
