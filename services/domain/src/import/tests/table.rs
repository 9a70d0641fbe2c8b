use super::*;

const HEADER: &str = "name,maker,model,kind,use_class,agency,code,package_code,package_quantity,carries_lot,carries_serial,carries_expiry\n";

fn rows(rows: &str) -> Read {
    records(Format::Csv, &format!("{HEADER}{rows}"))
}

// Prefix 952 is GS1's example range; +A99912345 and its check character 7 follow ANSI/HIBC 2.6.
#[test]
fn rows_of_one_product_are_joined() {
    let read = rows(
        "\
        Smoke filter,Kestrel,ISF-22,filter,single_use,gs1,9520123456788,19520123456785,10,true,,yes\n\
        Cannula,Kestrel,C3,cannula,reusable,GS1,09520123456795,,,,,\n\
        Smoke filter,Kestrel,ISF-22,,,hibcc,+A999123457,,,,no,\n",
    );
    let filter = read[0].as_ref().unwrap();
    assert_eq!(filter.line, 4);
    assert_eq!(filter.kind, Some(ProductKind::Filter));
    assert!(filter.carries.lot && filter.carries.expiry && !filter.carries.serial);
    assert_eq!(
        texts(filter),
        [
            ("gs1:09520123456788".to_owned(), 1),
            ("gs1:19520123456785".to_owned(), 10),
            ("hibcc:A99912345".to_owned(), 1),
        ]
    );
    assert_eq!(filter.identifiers[1].level, PackagingLevel::Package);
    let cannula = read[1].as_ref().unwrap();
    assert_eq!(cannula.use_class, UseClass::Reusable);
    assert_eq!(read.len(), 2);
}

#[test]
fn a_product_key_joins_rows_that_leave_the_rest_out() {
    let read = records(
        Format::Csv,
        "product,name,use_class,agency,code,package_code,package_quantity\n\
         a,Drape,single_use,gs1,9520123456788,,\n\
         a,,,gs1,,19520123456785,25\n",
    );
    assert_eq!(read.len(), 1);
    assert_eq!(texts(read[0].as_ref().unwrap())[1].1, 25);
}

#[test]
fn a_product_with_a_bad_row_is_left_out_as_a_whole() {
    let read = rows(
        "\
        Filter,K,1,filter,single_use,gs1,9520123456788,,,,,\n\
        Filter,K,1,filter,single_use,gs1,952012345678X,,,,,\n\
        Gauze,K,2,dressing,single_use,gs1,09520123456795,,,,,\n",
    );
    assert_eq!(
        faults(&read),
        ["line 3, code: the identifier has a character that its agency does not use"]
    );
    assert_eq!(read[1].as_ref().unwrap().name, "Gauze");
    assert_eq!(read.len(), 2);
}

#[test]
fn every_fault_names_line_and_field() {
    let read = rows(
        "\
        ,K,1,filter,single_use,gs1,9520123456788,,,,,\n\
        A,K,1,,sometimes,gs1,9520123456788,,,,,\n\
        B,K,1,,single_use,ean,9520123456788,,,,,\n\
        C,K,1,,single_use,gs1,,19520123456785,0,,,\n\
        D,K,1,,single_use,gs1,9520123456788,,,maybe,,\n\
        E,K,1,,single_use\n\
        F,K,1,,,gs1,9520123456788,,,,,\n\
        G,K,1,,single_use,gs1,,,,,,\n\
        H,K,1,filter,single_use,gs1,9520123456788,,,,,\n\
        H,K,1,gas,single_use,gs1,9520123456795,,,,,\n",
    );
    assert_eq!(
        faults(&read),
        [
            "line 2, name: missing",
            "line 3, use_class: not a use class: use one of single_use, reusable, reprocessed_single_use",
            "line 4, agency: the agency \"ean\" is none whose codes are known",
            "line 5, package_quantity: not a whole number from 1 to 1000000",
            "line 6, carries_lot: neither true nor false",
            "line 7, row: not a row with as many cells as the header line",
            "line 8, use_class: missing",
            "line 9, code: missing",
            "line 11, kind: another value than on line 10, which describes the same product",
        ]
    );
}

#[test]
fn a_header_that_is_no_catalogue_is_refused() {
    let header = |text: &str| {
        let fault = read(Format::Csv, text.as_bytes(), &mut |_| {
            ControlFlow::Continue(())
        });
        fault.unwrap_err().to_string()
    };
    assert_eq!(
        header("name,agency,code\n"),
        "the header line has no column use_class"
    );
    assert_eq!(
        header("name,use_class,agency,code,price\n"),
        "the header line has the unknown column \"price\""
    );
    assert_eq!(header(""), "the header line has no column name");
}

// 21 CFR 830.40: a device identifier names one version or model.
#[test]
fn an_identifier_names_the_product_of_its_first_line() {
    let read = rows(
        "\
        Cannula,K,C3,cannula,reusable,gs1,9520123456795,,,,,\n\
        Needle,K,N1,needle,single_use,gs1,09520123456795,,,,,\n",
    );
    assert_eq!(read[0].as_ref().unwrap().name, "Cannula");
    assert_eq!(
        faults(&read),
        ["line 3, identifiers: gs1:09520123456795 names the product of line 2 already"]
    );
}
