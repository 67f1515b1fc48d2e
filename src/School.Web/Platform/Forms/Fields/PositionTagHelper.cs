using System.Globalization;
using Microsoft.AspNetCore.Razor.TagHelpers;
using School.Core.Travel;
using School.Web.Platform.Layout.Map;

namespace School.Web.Platform.Forms.Fields;

/// <summary>
/// <c>&lt;field-position for="PickUp.Position" /&gt;</c>: latitude and longitude, typed or pasted. A script adds two other
/// ways: where the device is, and a map, of tiles where the installation has them and else of the places that the school knows.
/// </summary>
[HtmlTargetElement("field-position", Attributes = "for")]
public sealed class PositionTagHelper : FieldTagHelper
{
    /// <summary>About where the map opens while nothing is entered.</summary>
    public Coordinates? Around { get; set; }

    public override void Process(TagHelperContext context, TagHelperOutput output)
    {
        ArgumentNullException.ThrowIfNull(output);
        var tiles = ViewContext.HttpContext.RequestServices.GetService<MapTiles>();
        PlaceMap.UseIn(ViewContext.HttpContext, tiles);
        output.Attributes.SetAttribute("data-map", PlaceMap.Ground);
        if (tiles is not null)
        {
            output.Attributes.SetAttribute("data-map-tiles", tiles.Address);
            output.Attributes.SetAttribute("data-map-source", tiles.Attribution);
            output.Attributes.SetAttribute("data-map-zoom", tiles.MaxZoom.ToString(CultureInfo.InvariantCulture));
        }

        if (Around is { } around)
        {
            // Two decimals: the part of the town, not somebody's door.
            output.Attributes.SetAttribute("data-map-around", string.Create(CultureInfo.InvariantCulture, $"{around.Latitude:F2}, {around.Longitude:F2}"));
        }

        base.Process(context, output);
    }
}
