using System.Reflection;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata;
using Npgsql;
using School.Web.Platform.Database;

namespace School.Web.Demo.Scale;

/// <summary>
/// Writes entities by COPY, in the columns and formats of the model itself: a property that is added to an entity is written with it.
/// </summary>
internal sealed class RowCopy(SchoolDb db, NpgsqlConnection connection)
{
    private readonly Dictionary<Type, List<Column>> _columns = [];

    /// <summary>Rows of one kind, in the order of their keys as the service would have added them.</summary>
    public void Write(Type kind, IReadOnlyList<object> rows)
    {
        if (rows.Count == 0)
        {
            return;
        }

        var entity = db.Model.FindEntityType(kind)!;
        if (!_columns.TryGetValue(kind, out var columns))
        {
            _columns[kind] = columns = ColumnsOf(entity);
        }

        using var writer = connection.BeginBinaryImport(
            $"COPY {entity.GetSchema()}.{entity.GetTableName()} ({string.Join(", ", columns.Select(column => $"\"{column.Name}\""))}) FROM STDIN (FORMAT binary)");
        // Without a limit: the server may be at its indexes for longer than a statement usually takes.
        writer.Timeout = TimeSpan.Zero;
        foreach (var row in InOrder(entity, rows))
        {
            writer.StartRow();
            foreach (var column in columns)
            {
                if (column.Of(row) is { } value)
                {
                    writer.Write(value, column.Store);
                }
                else
                {
                    writer.WriteNull();
                }
            }
        }

        writer.Complete();
    }

    private static IEnumerable<object> InOrder(IEntityType entity, IReadOnlyList<object> rows)
    {
        var key = entity.FindPrimaryKey()!.Properties[0].PropertyInfo!;
        return key.PropertyType == typeof(Guid) ? rows.OrderBy(row => (Guid)key.GetValue(row)!) : rows;
    }

    private static List<Column> ColumnsOf(IEntityType entity)
    {
        var table = StoreObjectIdentifier.Create(entity, StoreObjectType.Table)!.Value;
        var columns = Plain(entity, table, row => row).ToList();
        foreach (var navigation in entity.GetNavigations().Where(navigation => navigation.TargetEntityType.IsMappedToJson()))
        {
            var (reach, parts) = (navigation.PropertyInfo!, JsonParts(navigation.TargetEntityType));
            columns.Add(new(navigation.TargetEntityType.GetContainerColumnName()!, "jsonb", row => Json((IEnumerable<object>)reach.GetValue(row)!, parts)));
        }

        return columns;
    }

    private static IEnumerable<Column> Plain(ITypeBase type, StoreObjectIdentifier table, Func<object, object?> reach)
    {
        foreach (var property in type.GetProperties())
        {
            var get = property.PropertyInfo ?? throw new InvalidOperationException($"{property} has no member to read.");
            var convert = property.GetTypeMapping().Converter?.ConvertToProvider;
            var store = property.GetColumnType();
            yield return new(
                property.GetColumnName(table)!, store.IndexOf('(', StringComparison.Ordinal) is > 0 and var at ? store[..at] : store,
                row => reach(row) is { } part && get.GetValue(part) is { } value ? convert is null ? value : convert(value) : null);
        }

        foreach (var complex in type.GetComplexProperties())
        {
            var get = complex.PropertyInfo!;
            foreach (var column in Plain(complex.ComplexType, table, row => reach(row) is { } part ? get.GetValue(part) : null))
            {
                yield return column;
            }
        }
    }

    private static List<(string Name, PropertyInfo Get, Func<object?, object?>? Convert)> JsonParts(IEntityType type) =>
    [
        .. type.GetProperties().Where(property => property.PropertyInfo is not null)
            .Select(property => (property.GetJsonPropertyName()!, property.PropertyInfo!, property.GetTypeMapping().Converter?.ConvertToProvider)),
    ];

    private static string Json(IEnumerable<object> items, List<(string Name, PropertyInfo Get, Func<object?, object?>? Convert)> parts) =>
        JsonSerializer.Serialize(items.Select(item => parts.ToDictionary(
            part => part.Name, part => part.Get.GetValue(item) is var value && part.Convert is { } convert ? convert(value) : value)));

    private sealed record Column(string Name, string Store, Func<object, object?> Of);
}
